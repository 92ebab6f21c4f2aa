import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { FIRST_INTERRUPT, PEND_SV, type Processor, SUPERVISOR_CALL, SYS_TICK } from './processor.js';
import { RAM_AT } from './registers.js';

const SYST_CSR = 0x010;
const SYST_RVR = 0x014;
const SYST_CVR = 0x018;
const SYST_CALIB = 0x01c;
const NVIC_ISER = 0x100;
const NVIC_ICER = 0x180;
const NVIC_ISPR = 0x200;
const NVIC_ICPR = 0x280;
const NVIC_IPR = 0x400;
const CPUID = 0xd00;
const ICSR = 0xd04;
const VTOR = 0xd08;
const AIRCR = 0xd0c;
const SCR = 0xd10;
const CCR = 0xd14;
const SHPR2 = 0xd1c;
const SHPR3 = 0xd20;

const MPU_TYPE = 0xd90;
const MPU_CTRL = 0xd94;
const MPU_RNR = 0xd98;
const MPU_RBAR = 0xd9c;
const MPU_RASR = 0xda0;

const RESET_REQUEST = 0x05fa0004;
const COUNT_MOST = 0x1000000;

/** SysTick, interrupt controller and system control block of the Cortex-M0+ (ARM DDI 0419, B3). */
export class SystemControl {
  private control = 0;
  private reload = 0;
  private counted = 0;
  /** Cycle at which the counter was last loaded with `loaded`. */
  private from_cycle = 0;
  private loaded = 0;
  private readonly due: Alarm;
  private protection = 0;
  private region_base = 0;
  private region = 0;

  constructor(
    private readonly processor: Processor,
    private readonly clock: BoardClock,
    private readonly problems: Problems,
  ) {
    this.due = clock.createAlarm(() => this.expire());
  }

  read(offset: number): number {
    const { processor } = this;
    if (offset >= NVIC_IPR && offset < NVIC_IPR + 32) return this.priorityWord(offset - NVIC_IPR);
    switch (offset) {
      case SYST_CSR: {
        const value = this.control | (this.counted << 16);
        this.counted = 0;
        return value;
      }
      case SYST_RVR:
        return this.reload;
      case SYST_CVR:
        return this.counter();
      case SYST_CALIB:
        return 0;
      case NVIC_ISER:
      case NVIC_ICER:
        return processor.enabled;
      case NVIC_ISPR:
      case NVIC_ICPR:
        return processor.pending;
      case CPUID:
        return 0x410cc601;
      case ICSR:
        return (
          (((processor.system_pending >>> PEND_SV) & 1) << 28) |
          (((processor.system_pending >>> SYS_TICK) & 1) << 26) |
          ((processor.pending & processor.enabled) !== 0 ? 1 << 22 : 0) |
          processor.exception
        );
      case VTOR:
        return processor.vectors;
      case CCR:
        return 0x208;
      case SHPR2:
        return processor.priorities[SUPERVISOR_CALL] << 30;
      case SHPR3:
        return (processor.priorities[PEND_SV] << 22) | (processor.priorities[SYS_TICK] << 30);
      case MPU_TYPE:
        return 0x800;
      case MPU_CTRL:
        return this.protection;
      case MPU_RNR:
        return 0;
      case MPU_RBAR:
        return this.region_base;
      case MPU_RASR:
        return this.region;
      default:
        this.problems.note('PPB', `read from offset ${offset.toString(16)}`);
        return 0;
    }
  }

  write(offset: number, value: number): void {
    const { processor } = this;
    if (offset >= NVIC_IPR && offset < NVIC_IPR + 32) {
      for (let n = 0; n < 4; n++)
        processor.priorities[FIRST_INTERRUPT + offset - NVIC_IPR + n] = (value >>> (8 * n + 6)) & 3;
    } else this.writeOther(offset, value);
    processor.attend();
  }

  private writeOther(offset: number, value: number): void {
    const { processor } = this;
    switch (offset) {
      case SYST_CSR:
        this.load(this.counter());
        this.control = value & 7;
        if ((value & 4) === 0 && (value & 1) !== 0) this.problems.note('SysTick', 'runs from the reference clock');
        this.load(this.loaded);
        break;
      case SYST_RVR:
        this.reload = value & (COUNT_MOST - 1);
        break;
      case SYST_CVR:
        this.counted = 0;
        this.load(0);
        break;
      case NVIC_ISER:
        processor.enabled |= value;
        break;
      case NVIC_ICER:
        processor.enabled &= ~value;
        break;
      case NVIC_ISPR:
        processor.pending |= value;
        break;
      case NVIC_ICPR:
        processor.pending &= ~value;
        break;
      case ICSR:
        if ((value & (1 << 28)) !== 0) processor.setPending(PEND_SV, true);
        if ((value & (1 << 27)) !== 0) processor.setPending(PEND_SV, false);
        if ((value & (1 << 26)) !== 0) processor.setPending(SYS_TICK, true);
        if ((value & (1 << 25)) !== 0) processor.setPending(SYS_TICK, false);
        break;
      case VTOR:
        processor.vectors = value & ~255;
        break;
      case AIRCR:
        if (value >>> 0 === RESET_REQUEST) this.problems.note('PPB', 'reset of the processor alone');
        break;
      case SCR:
        if (value !== 0) this.problems.note('PPB', `sleep mode ${value}`);
        break;
      case SHPR2:
        processor.priorities[SUPERVISOR_CALL] = value >>> 30;
        break;
      case SHPR3:
        processor.priorities[PEND_SV] = (value >>> 22) & 3;
        processor.priorities[SYS_TICK] = value >>> 30;
        break;
      case MPU_CTRL:
        this.protection = value & 7;
        this.guard();
        break;
      case MPU_RNR:
        if (value !== 0) this.problems.note('PPB', `memory protection region ${value}: only region 0 is known`);
        break;
      case MPU_RBAR:
        this.region_base = value & ~255;
        this.guard();
        break;
      case MPU_RASR:
        this.region = value;
        this.guard();
        break;
      default:
        this.problems.note('PPB', `write to offset ${offset.toString(16)}`);
    }
  }

  /** One region without access, or read-only, over memory that is otherwise open: writes fault, reads are not checked. */
  private guard(): void {
    const on = (this.protection & 5) === 5 && (this.region & 1) === 1;
    const other = (this.region & 0xff00) !== 0 || ![0, 6].includes((this.region >>> 24) & 7);
    if (on && other) this.problems.note('PPB', 'memory protection that is not known');
    this.processor.guard_offset = (this.region_base ^ RAM_AT) >>> 0;
    this.processor.guard_bytes = on ? 2 ** (((this.region >>> 1) & 31) + 1) : 0;
  }

  private priorityWord(first: number): number {
    let word = 0;
    for (let n = 0; n < 4; n++) word |= this.processor.priorities[FIRST_INTERRUPT + first + n] << (8 * n + 6);
    return word >>> 0;
  }

  private get runs(): boolean {
    return (this.control & 1) !== 0;
  }

  /** Counts down; one cycle after 0 it reloads. */
  private counter(): number {
    if (!this.runs) return this.loaded;
    const gone = this.processor.cycles - this.from_cycle;
    if (gone <= this.loaded) return this.loaded - gone;
    return this.reload - ((gone - this.loaded - 1) % (this.reload + 1));
  }

  private load(value: number): void {
    this.loaded = value;
    this.from_cycle = this.processor.cycles;
    this.arrange(value === 0 ? this.reload + 1 : value);
  }

  private arrange(cycles: number): void {
    this.due.cancel();
    if (!this.runs || this.reload === 0) return;
    const at_cycle = this.processor.cycles + cycles;
    this.due.schedule(this.clock.timeOf(at_cycle) - this.clock.nanos);
  }

  private expire(): void {
    this.counted = 1;
    if ((this.control & 2) !== 0) this.processor.setPending(SYS_TICK, true);
    this.due.schedule(this.clock.timeOf(this.reload + 1) - this.clock.timeOf(0));
  }
}
