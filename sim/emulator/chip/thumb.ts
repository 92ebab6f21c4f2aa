import { RAM_AT, RAM_BYTES } from './registers.js';

/** What lies outside the memory: flash, peripherals, nothing. Times are processor cycles on top of a plain access. */
export interface Bus {
  /** @returns the value, zero-extended; `fault()` of the processor says that there was none */
  read(address: number, bytes: number): number;
  write(address: number, bytes: number, value: number): void;
  /** The halfword of an instruction, or -1. */
  fetch(address: number): number;
}

const SP = 13;
const PC = 15;

/**
 * The instructions of ARMv6-M (ARM DDI 0419), with the cycles of the Cortex-M0+ (ARM DDI 0484, table 3-1; single-cycle
 * multiplier, no wait states in memory). The package's own processor neither faults nor counts exception entry; this
 * one does both, and is several times faster. While instructions run, the next one's address stands in register 15.
 */
export abstract class ThumbCore {
  readonly r = new Int32Array(16);
  /** Last result that set N and Z. */
  result = 1;
  carry = 0;
  overflow = 0;
  /** 1: PRIMASK is set. */
  masked = 0;
  /** Cycles of the burst so far, and the limit that ends it; below 0: at once. */
  protected spent = 0;
  protected limit = 0;
  /** Address of the current instruction. */
  protected at = 0;
  protected faulted = false;
  waiting = false;
  /** The part of the memory that the memory protection unit makes read-only. */
  guard_offset = 0;
  guard_bytes = 0;

  readonly memory = new Uint8Array(RAM_BYTES);
  private readonly memory16 = new Uint16Array(this.memory.buffer);
  private readonly memory32 = new Int32Array(this.memory.buffer);
  abstract readonly bus: Bus;

  /** BX, POP or LDM into the program counter: may be the end of an exception. */
  protected abstract branchExchange(address: number): void;
  protected abstract special(register: number): number;
  protected abstract setSpecial(register: number, value: number): void;
  /** SVC. */
  protected abstract supervisor(): void;
  protected abstract wait(event: boolean): void;
  protected abstract sendEvent(): void;

  /** The current instruction faults: it ends here and the processor takes a hard fault. */
  fault(): void {
    this.faulted = true;
    this.limit = -1;
  }

  private guarded(offset: number): boolean {
    return (offset - this.guard_offset) >>> 0 < this.guard_bytes;
  }

  load32(address: number): number {
    const offset = (address ^ RAM_AT) >>> 0;
    if (offset < RAM_BYTES && (offset & 3) === 0) return this.memory32[offset >>> 2];
    if ((address & 3) !== 0) {
      this.fault();
      return 0;
    }
    return this.bus.read(address >>> 0, 4) | 0;
  }

  load16(address: number): number {
    const offset = (address ^ RAM_AT) >>> 0;
    if (offset < RAM_BYTES && (offset & 1) === 0) return this.memory16[offset >>> 1];
    if ((address & 1) !== 0) {
      this.fault();
      return 0;
    }
    return this.bus.read(address >>> 0, 2);
  }

  load8(address: number): number {
    const offset = (address ^ RAM_AT) >>> 0;
    if (offset < RAM_BYTES) return this.memory[offset];
    return this.bus.read(address >>> 0, 1);
  }

  store32(address: number, value: number): void {
    const offset = (address ^ RAM_AT) >>> 0;
    if (this.guarded(offset)) this.fault();
    else if (offset < RAM_BYTES && (offset & 3) === 0) this.memory32[offset >>> 2] = value;
    else if ((address & 3) !== 0) this.fault();
    else this.bus.write(address >>> 0, 4, value);
  }

  store16(address: number, value: number): void {
    const offset = (address ^ RAM_AT) >>> 0;
    if (this.guarded(offset)) this.fault();
    else if (offset < RAM_BYTES && (offset & 1) === 0) this.memory16[offset >>> 1] = value;
    else if ((address & 1) !== 0) this.fault();
    else this.bus.write(address >>> 0, 2, value & 0xffff);
  }

  store8(address: number, value: number): void {
    const offset = (address ^ RAM_AT) >>> 0;
    if (this.guarded(offset)) this.fault();
    else if (offset < RAM_BYTES) this.memory[offset] = value;
    else this.bus.write(address >>> 0, 1, value & 0xff);
  }

  /** Runs until the limit; one instruction may go beyond it. */
  protected burst(): void {
    const { r, memory16 } = this;
    while (this.spent < this.limit) {
      const pc = r[PC];
      const offset = (pc ^ RAM_AT) >>> 0;
      this.at = pc;
      let code: number;
      if (offset < RAM_BYTES) code = memory16[offset >>> 1];
      else {
        code = this.bus.fetch(pc >>> 0);
        if (code < 0) {
          this.fault();
          return;
        }
      }
      r[PC] = pc + 2;
      this.spent++;
      switch (code >>> 11) {
        case 0: // LSLS immediate
          this.shiftLeft(code & 7, r[(code >>> 3) & 7], (code >>> 6) & 31);
          break;
        case 1: // LSRS immediate
          this.shiftRight(code & 7, r[(code >>> 3) & 7], (code >>> 6) & 31 || 32);
          break;
        case 2: // ASRS immediate
          this.shiftSigned(code & 7, r[(code >>> 3) & 7], (code >>> 6) & 31 || 32);
          break;
        case 3: {
          const operand = (code & 0x400) !== 0 ? (code >>> 6) & 7 : r[(code >>> 6) & 7];
          const first = r[(code >>> 3) & 7];
          r[code & 7] = (code & 0x200) !== 0 ? this.add(first, ~operand, 1) : this.add(first, operand, 0);
          break;
        }
        case 4: // MOVS immediate
          this.result = r[(code >>> 8) & 7] = code & 255;
          break;
        case 5: // CMP immediate
          this.add(r[(code >>> 8) & 7], ~(code & 255), 1);
          break;
        case 6: // ADDS immediate
          r[(code >>> 8) & 7] = this.add(r[(code >>> 8) & 7], code & 255, 0);
          break;
        case 7: // SUBS immediate
          r[(code >>> 8) & 7] = this.add(r[(code >>> 8) & 7], ~(code & 255), 1);
          break;
        case 8:
          if ((code & 0x400) === 0) this.dataProcessing(code);
          else this.highRegisters(code);
          break;
        case 9: // LDR literal
          this.spent++;
          r[(code >>> 8) & 7] = this.load32(((pc + 4) & ~3) + ((code & 255) << 2));
          break;
        case 10:
        case 11:
          this.spent++;
          this.registerOffset(code);
          break;
        case 12: // STR immediate
          this.spent++;
          this.store32(r[(code >>> 3) & 7] + ((code >>> 4) & 0x7c), r[code & 7]);
          break;
        case 13: // LDR immediate
          this.spent++;
          r[code & 7] = this.load32(r[(code >>> 3) & 7] + ((code >>> 4) & 0x7c));
          break;
        case 14: // STRB immediate
          this.spent++;
          this.store8(r[(code >>> 3) & 7] + ((code >>> 6) & 31), r[code & 7]);
          break;
        case 15: // LDRB immediate
          this.spent++;
          r[code & 7] = this.load8(r[(code >>> 3) & 7] + ((code >>> 6) & 31));
          break;
        case 16: // STRH immediate
          this.spent++;
          this.store16(r[(code >>> 3) & 7] + ((code >>> 5) & 0x3e), r[code & 7]);
          break;
        case 17: // LDRH immediate
          this.spent++;
          r[code & 7] = this.load16(r[(code >>> 3) & 7] + ((code >>> 5) & 0x3e));
          break;
        case 18: // STR, stack
          this.spent++;
          this.store32(r[SP] + ((code & 255) << 2), r[(code >>> 8) & 7]);
          break;
        case 19: // LDR, stack
          this.spent++;
          r[(code >>> 8) & 7] = this.load32(r[SP] + ((code & 255) << 2));
          break;
        case 20: // ADR
          r[(code >>> 8) & 7] = ((pc + 4) & ~3) + ((code & 255) << 2);
          break;
        case 21: // ADD, stack
          r[(code >>> 8) & 7] = r[SP] + ((code & 255) << 2);
          break;
        case 22:
        case 23:
          this.miscellaneous(code);
          break;
        case 24:
          this.storeMultiple(code);
          break;
        case 25:
          this.loadMultiple(code);
          break;
        case 26:
        case 27:
          this.conditional(code);
          break;
        case 28: // B
          r[PC] = pc + 4 + ((code << 21) >> 20);
          this.spent++;
          break;
        case 30:
          this.wide(code);
          break;
        default:
          this.fault();
      }
    }
  }

  /** Sum with carry; sets all four flags. */
  protected add(a: number, b: number, carry: number): number {
    const sum = (a + b + carry) | 0;
    this.carry = ((a & b) | ((a | b) & ~sum)) >>> 31;
    this.overflow = ((a ^ sum) & (b ^ sum)) >>> 31;
    this.result = sum;
    return sum;
  }

  private shiftLeft(to: number, value: number, by: number): void {
    if (by > 0) this.carry = by > 32 ? 0 : (value >>> (32 - by)) & 1;
    this.result = this.r[to] = by > 31 ? 0 : value << by;
  }

  private shiftRight(to: number, value: number, by: number): void {
    if (by > 0) this.carry = by > 32 ? 0 : (value >>> (by - 1)) & 1;
    this.result = this.r[to] = by > 31 ? 0 : (value >>> by) | 0;
  }

  private shiftSigned(to: number, value: number, by: number): void {
    if (by > 0) this.carry = (value >> (by > 31 ? 31 : by - 1)) & 1;
    this.result = this.r[to] = value >> Math.min(by, 31);
  }

  private dataProcessing(code: number): void {
    const { r } = this;
    const to = code & 7;
    const a = r[to];
    const b = r[(code >>> 3) & 7];
    switch ((code >>> 6) & 15) {
      case 0: // ANDS
        this.result = r[to] = a & b;
        break;
      case 1: // EORS
        this.result = r[to] = a ^ b;
        break;
      case 2: // LSLS
        this.shiftLeft(to, a, b & 255);
        break;
      case 3: // LSRS
        this.shiftRight(to, a, b & 255);
        break;
      case 4: // ASRS
        this.shiftSigned(to, a, b & 255);
        break;
      case 5: // ADCS
        r[to] = this.add(a, b, this.carry);
        break;
      case 6: // SBCS
        r[to] = this.add(a, ~b, this.carry);
        break;
      case 7: // RORS
        this.result = r[to] = (a >>> (b & 31)) | (a << (-b & 31));
        if ((b & 255) !== 0) this.carry = r[to] >>> 31;
        break;
      case 8: // TST
        this.result = a & b;
        break;
      case 9: // RSBS
        r[to] = this.add(0, ~b, 1);
        break;
      case 10: // CMP
        this.add(a, ~b, 1);
        break;
      case 11: // CMN
        this.add(a, b, 0);
        break;
      case 12: // ORRS
        this.result = r[to] = a | b;
        break;
      case 13: // MULS
        this.result = r[to] = Math.imul(a, b);
        break;
      case 14: // BICS
        this.result = r[to] = a & ~b;
        break;
      default: // MVNS
        this.result = r[to] = ~b;
    }
  }

  protected abstract highRegisters(code: number): void;
  protected abstract registerOffset(code: number): void;
  protected abstract miscellaneous(code: number): void;
  protected abstract storeMultiple(code: number): void;
  protected abstract loadMultiple(code: number): void;
  protected abstract conditional(code: number): void;
  protected abstract wide(code: number): void;
}
