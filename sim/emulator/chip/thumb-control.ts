// The second half of the instruction set; apart from thumb.ts, which has the first, and from processor.ts, which runs them.
import { ThumbCore } from './thumb.js';

const SP = 13;
const LR = 14;
const PC = 15;

/**
 * The rest of the instructions: high registers, register offsets, branches, several registers at once, stack, extensions,
 * special registers. A file of its own because both halves together are too long to be read in one go.
 */
export abstract class ThumbControl extends ThumbCore {
  protected override highRegisters(code: number): void {
    const { r } = this;
    const from = (code >>> 3) & 15;
    const to = (code & 7) | ((code >>> 4) & 8);
    const value = from === PC ? r[PC] + 2 : r[from];
    switch ((code >>> 8) & 3) {
      case 0: // ADD
        this.setHigh(to, (to === PC ? r[PC] + 2 : r[to]) + value);
        break;
      case 1: // CMP
        this.add(r[to], ~value, 1);
        break;
      case 2: // MOV
        this.setHigh(to, value);
        break;
      default: // BX, BLX
        this.spent++;
        if ((code & 0x80) !== 0) {
          const target = value;
          r[LR] = r[PC] | 1;
          if ((target & 1) === 0) this.fault();
          r[PC] = target & ~1;
        } else this.branchExchange(value);
    }
  }

  private setHigh(to: number, value: number): void {
    if (to === PC) {
      this.r[PC] = value & ~1;
      this.spent++;
    } else this.r[to] = to === SP ? value & ~3 : value;
  }

  protected override registerOffset(code: number): void {
    const { r } = this;
    const to = code & 7;
    const address = (r[(code >>> 3) & 7] + r[(code >>> 6) & 7]) | 0;
    switch ((code >>> 9) & 7) {
      case 0:
        this.store32(address, r[to]);
        break;
      case 1:
        this.store16(address, r[to]);
        break;
      case 2:
        this.store8(address, r[to]);
        break;
      case 3:
        r[to] = (this.load8(address) << 24) >> 24;
        break;
      case 4:
        r[to] = this.load32(address);
        break;
      case 5:
        r[to] = this.load16(address);
        break;
      case 6:
        r[to] = this.load8(address);
        break;
      default:
        r[to] = (this.load16(address) << 16) >> 16;
    }
  }

  protected override miscellaneous(code: number): void {
    const { r } = this;
    switch ((code >>> 8) & 15) {
      case 0: // ADD and SUB, stack
        r[SP] = (code & 0x80) !== 0 ? r[SP] - ((code & 0x7f) << 2) : r[SP] + ((code & 0x7f) << 2);
        break;
      case 2:
        this.extend(code);
        break;
      case 4:
      case 5:
        this.push(code);
        break;
      case 6: // CPS
        this.masked = (code >>> 4) & 1;
        this.limit = -1;
        break;
      case 10:
        this.reverse(code);
        break;
      case 12:
      case 13:
        this.pop(code);
        break;
      case 14: // BKPT: without a debugger a hard fault
        this.fault();
        break;
      case 15:
        this.hint(code);
        break;
      default:
        this.fault();
    }
  }

  private extend(code: number): void {
    const value = this.r[(code >>> 3) & 7];
    const kind = (code >>> 6) & 3;
    if (kind === 0) this.r[code & 7] = (value << 16) >> 16;
    else if (kind === 1) this.r[code & 7] = (value << 24) >> 24;
    else this.r[code & 7] = kind === 2 ? value & 0xffff : value & 0xff;
  }

  private reverse(code: number): void {
    const value = this.r[(code >>> 3) & 7];
    const halves = ((value >>> 8) & 0x00ff00ff) | ((value & 0x00ff00ff) << 8);
    const kind = (code >>> 6) & 3;
    if (kind === 0) this.r[code & 7] = (halves >>> 16) | (halves << 16);
    else if (kind === 1) this.r[code & 7] = halves;
    else if (kind === 3) this.r[code & 7] = (halves << 16) >> 16;
    else this.fault();
  }

  private hint(code: number): void {
    const kind = (code >>> 4) & 15;
    if ((code & 15) !== 0) this.fault();
    else if (kind === 2 || kind === 3) {
      this.spent++;
      this.wait(kind === 2);
    } else if (kind === 4) this.sendEvent();
  }

  private push(code: number): void {
    const { r } = this;
    let count = (code >>> 8) & 1;
    for (let bits = code & 255; bits !== 0; bits &= bits - 1) count++;
    let address = r[SP] - 4 * count;
    const bottom = address;
    for (let n = 0; n < 8; n++) {
      if ((code & (1 << n)) === 0) continue;
      this.store32(address, r[n]);
      address += 4;
    }
    if ((code & 0x100) !== 0) this.store32(address, r[LR]);
    r[SP] = bottom;
    this.spent += count;
  }

  private pop(code: number): void {
    const { r } = this;
    let address = r[SP];
    for (let n = 0; n < 8; n++) {
      if ((code & (1 << n)) === 0) continue;
      r[n] = this.load32(address);
      address += 4;
      this.spent++;
    }
    if ((code & 0x100) === 0) {
      r[SP] = address;
      return;
    }
    const target = this.load32(address);
    r[SP] = address + 4;
    this.spent += 3;
    this.branchExchange(target);
  }

  protected override storeMultiple(code: number): void {
    const { r } = this;
    const base = (code >>> 8) & 7;
    let address = r[base];
    for (let n = 0; n < 8; n++) {
      if ((code & (1 << n)) === 0) continue;
      this.store32(address, r[n]);
      address += 4;
      this.spent++;
    }
    r[base] = address;
  }

  protected override loadMultiple(code: number): void {
    const { r } = this;
    const base = (code >>> 8) & 7;
    let address = r[base];
    for (let n = 0; n < 8; n++) {
      if ((code & (1 << n)) === 0) continue;
      r[n] = this.load32(address);
      address += 4;
      this.spent++;
    }
    if ((code & (1 << base)) === 0) r[base] = address;
  }

  protected override conditional(code: number): void {
    const condition = (code >>> 8) & 15;
    if (condition >= 14) {
      if (condition === 15) this.supervisor();
      else this.fault();
    } else if (this.holds(condition)) {
      this.r[PC] = this.at + 4 + ((code << 24) >> 23);
      this.spent++;
    }
  }

  private holds(condition: number): boolean {
    const { result } = this;
    let true_: boolean;
    switch (condition >>> 1) {
      case 0:
        true_ = result === 0;
        break;
      case 1:
        true_ = this.carry !== 0;
        break;
      case 2:
        true_ = result < 0;
        break;
      case 3:
        true_ = this.overflow !== 0;
        break;
      case 4:
        true_ = this.carry !== 0 && result !== 0;
        break;
      case 5:
        true_ = result < 0 === (this.overflow !== 0);
        break;
      default:
        true_ = result !== 0 && result < 0 === (this.overflow !== 0);
    }
    return true_ === ((condition & 1) === 0);
  }

  /** Instructions of two halfwords. */
  protected override wide(code: number): void {
    const { r } = this;
    const second = this.load16(r[PC]);
    r[PC] += 2;
    this.spent += 2;
    if ((second & 0xd000) === 0xd000) this.branchLink(code, second);
    else if ((code & 0xffe0) === 0xf380 && (second & 0xff00) === 0x8800) {
      this.setSpecial(second & 255, r[code & 15]);
    } else if (code === 0xf3ef && (second & 0xf000) === 0x8000) {
      r[(second >>> 8) & 15] = this.special(second & 255);
    } else if (code !== 0xf3bf || (second & 0xffc0) < 0x8f40 || (second & 0xffc0) > 0x8f7f) {
      this.fault();
    }
  }

  private branchLink(code: number, second: number): void {
    const { r } = this;
    const sign = (code >>> 10) & 1;
    const bit_23 = ((second >>> 13) & 1) === sign ? 1 : 0;
    const bit_22 = ((second >>> 11) & 1) === sign ? 1 : 0;
    const offset =
      ((sign !== 0 ? -1 : 0) << 24) |
      (bit_23 << 23) |
      (bit_22 << 22) |
      ((code & 0x3ff) << 12) |
      ((second & 0x7ff) << 1);
    r[LR] = r[PC] | 1;
    r[PC] = this.at + 4 + offset;
  }
}
