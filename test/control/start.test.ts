import { describe, expect, it } from 'vitest';
import {
  FLAG_HOMED,
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  INPUT_TOUCH,
  OUTPUT_Z_VELOCITY_MM_S,
} from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

describe('a torch request is refused', () => {
  it.each<[string, (rig: Rig) => unknown]>([
    ['key', (rig) => rig.off(INPUT_KEY).run(40)],
    ['stop-chain', (rig) => rig.off(INPUT_STOP_CHAIN)],
    ['breakaway', (rig) => rig.off(INPUT_BREAKAWAY).run(3)],
  ])('for %s, and then not taken when the cause goes: it must be given again', (cause, spoil) => {
    const rig = new Rig().ready();
    spoil(rig);
    rig.on(INPUT_REQUEST).run(5);
    expect(rig.refusal).toBe(cause);
    rig.on(INPUT_KEY, INPUT_STOP_CHAIN, INPUT_BREAKAWAY).run(50);
    expect(rig.mode).toBe('rest');
    expect(rig.refusal).toBe('request-held');
    expect(rig.owned).toBe(false);
    rig.off(INPUT_REQUEST).run(40).on(INPUT_REQUEST).run(1);
    expect(rig.mode).toBe('seek');
  });

  it('before Z has been at the top switch', () => {
    const rig = new Rig().run(40).on(INPUT_KEY).run(5).on(INPUT_REQUEST).run(1);
    expect(rig.refusal).toBe('not-homed');
    expect(rig.flag(FLAG_HOMED)).toBe(false);
  });

  it('with voltage at the tap', () => {
    const rig = new Rig().ready();
    rig.true_V = 40;
    rig.run(16).on(INPUT_REQUEST).run(1);
    expect(rig.refusal).toBe('voltage');
  });

  it('with voltage of the wrong sign at the tap', () => {
    const rig = new Rig({ rest_V: 5 }).ready();
    rig.true_V = -11;
    rig.run(16).on(INPUT_REQUEST).run(1);
    expect(rig.refusal).toBe('voltage');
  });

  it.each<[string, Readonly<Record<string, number>>]>([
    ['rest_V over arc_low_V', { rest_V: 60, arc_low_V: 50 }],
    ['arc_low_V over target_V', { arc_low_V: 120 }],
    ['target_V over arc_high_V', { target_V: 200 }],
    ['cut_height_mm over pierce_height_mm', { cut_height_mm: 4 }],
    ['seek_slow_mm_s over seek_fast_mm_s', { seek_fast_mm_s: 1 }],
    ['seek_travel_mm over travel_mm', { seek_travel_mm: 80 }],
    ['follow_down_mm_s over z_velocity_mm_s', { z_velocity_mm_s: 5 }],
    ['more Z steps than a millisecond has room for', { z_velocity_mm_s: 81.1, z_steps_per_mm: 1000 }],
  ])('with parameters that contradict each other: %s', (_, parameters) => {
    const rig = new Rig(parameters).ready().on(INPUT_REQUEST).run(1);
    expect(rig.refusal).toBe('parameters');
    expect(rig.mode).toBe('rest');
  });

  it('when it was on at power-up', () => {
    const rig = new Rig().on(INPUT_REQUEST).ready().run(100);
    expect(rig.refusal).toBe('request-held');
    expect(rig.mode).toBe('rest');
  });

  it('while a fault is latched, and says so', () => {
    const rig = new Rig().at('follow').off(INPUT_STOP_CHAIN).run(200);
    expect(rig.mode).toBe('fault');
    expect(rig.refusal).toBe('fault');
  });

  it('with a key that was on at power-up, until the key is cycled', () => {
    const rig = new Rig().on(INPUT_KEY, INPUT_TOP).run(100).off(INPUT_TOP).on(INPUT_REQUEST).run(100);
    expect(rig.refusal).toBe('key');
    rig.off(INPUT_KEY, INPUT_REQUEST).run(40).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(rig.mode).toBe('seek');
  });

  it('after the key went off and on during a cut, until the request is taken off', () => {
    const rig = new Rig().at('follow').off(INPUT_KEY).run(40).on(INPUT_KEY);
    rig.until('rest').run(100);
    expect(rig.refusal).toBe('request-held');
    expect(rig.mode).toBe('rest');
  });
});

describe('homing', () => {
  it('counts only while Z belongs to the motion controller', () => {
    const rig = new Rig().at('follow').off(INPUT_STOP_CHAIN);
    rig.on(INPUT_TOP).run(2);
    rig.off(INPUT_TOP);
    rig.until('fault', 'wait');
    expect(rig.flag(FLAG_HOMED)).toBe(false);
    rig.on(INPUT_TOP).run(3);
    expect(rig.flag(FLAG_HOMED)).toBe(true);
  });
});

describe('seek', () => {
  const seeking = (parameters = {}): Rig => {
    const rig = new Rig(parameters).ready();
    rig.plant = true;
    return rig.on(INPUT_REQUEST);
  };

  it('goes fast down, back off the switch, slowly down, and lifts slowly until the switch opens', () => {
    const rig = seeking();
    const stages: string[] = [];
    while (rig.tick().mode === 'seek') if (stages.at(-1) !== rig.stage) stages.push(rig.stage);
    expect(stages).toEqual(['fast', 'back', 'slow', 'open']);
    expect(rig.mode).toBe('lift');
    // Opening is debounced by three ticks and must last for 15 at 2 mm/s, and the lift begins a step above.
    const touched_mm = rig.state('z_touched') / 400;
    expect(touched_mm).toBeGreaterThanOrEqual(rig.sheet_mm);
    expect(touched_mm).toBeLessThan(rig.sheet_mm + 0.02 + 0.03);
    expect(rig.trigger).toBe(false);
  });

  it('never goes down faster than seek_slow_mm_s in the second approach', () => {
    const rig = seeking({ seek_slow_mm_s: 1 }).until('seek', 'slow');
    let down_mm_s = 0;
    for (; rig.stage === 'slow'; rig.tick()) down_mm_s = Math.max(down_mm_s, -rig.real(OUTPUT_Z_VELOCITY_MM_S));
    expect(down_mm_s).toBe(1);
  });

  it('puts the sheet touch_offset_mm below where the switch opens', () => {
    const plain = seeking().until('lift').state('z_touched');
    expect(seeking({ touch_offset_mm: 0.5 }).until('lift').state('z_touched')).toBe(plain - 200);
    expect(seeking({ touch_offset_mm: -0.5 }).until('lift').state('z_touched')).toBe(plain + 200);
  });

  it('refuses a switch that is closed before it begins', () => {
    const rig = new Rig().ready().on(INPUT_TOUCH).run(5).on(INPUT_REQUEST).run(2);
    expect(rig.fault).toBe('touch-closed');
    expect(rig.z_mm).toBe(0);
  });

  it('gives up after seek_travel_mm without a sheet, and goes back up', () => {
    const rig = seeking({ seek_travel_mm: 20 });
    rig.sheet_mm = -40;
    rig.until('fault', 'fall');
    expect(rig.fault).toBe('touch-missing');
    expect(rig.z_mm).toBeGreaterThan(-21);
    rig.until('fault', 'wait');
    expect(rig.z_mm).toBeCloseTo(0, 6);
    expect(rig.flag(FLAG_HOMED)).toBe(true);
  });

  it('searches down to seek_travel_mm, to the step', () => {
    const searching = (seek_travel_mm: number) => {
      const rig = seeking({ seek_travel_mm });
      rig.sheet_mm = -100;
      return rig;
    };
    // A place at which a tick of the search ends. On the bound it goes on, by 5 steps at most; the tick after that sees it passed.
    const last_mm = searching(45).run(1000).z_mm;
    const rig = searching(-last_mm).until('fault');
    const steps = Math.round((last_mm - rig.z_mm) * 400);
    expect(steps).toBeGreaterThan(5);
    expect(steps).toBeLessThanOrEqual(10);
    expect(rig.fault).toBe('touch-missing');
  });

  it('gives up before the end of its travel when there is no sheet', () => {
    const rig = seeking({ seek_travel_mm: 60, travel_mm: 60 });
    rig.sheet_mm = -100;
    rig.until('fault', 'fall');
    expect(rig.fault).toBe('touch-missing');
    expect(rig.z_mm).toBeGreaterThanOrEqual(-60);
  });

  it('notices a switch that does not open in 5 mm of lift', () => {
    const rig = seeking();
    rig.until('seek', 'back');
    rig.plant = false;
    rig.until('fault');
    expect(rig.fault).toBe('touch-stuck');
    expect(rig.z_mm).toBeLessThan(rig.sheet_mm + 5.3);
  });

  it('notices a switch that does not open before Z is back where it was taken over', () => {
    const rig = seeking();
    rig.sheet_mm = -3;
    rig.until('seek', 'back');
    rig.plant = false;
    rig.until('fault', 'wait', 5000);
    expect(rig.fault).toBe('touch-stuck');
  });

  it('refuses a sheet so near that pierce height lies above where the box took Z over', () => {
    const rig = seeking({ pierce_height_mm: 3 });
    rig.sheet_mm = -2;
    rig.until('fault', 'wait', 5000);
    expect(rig.fault).toBe('travel');
    expect(rig.z_mm).toBeCloseTo(0, 6);
  });
});

describe('lift, pierce and lower', () => {
  it('strikes at pierce height above the touched sheet', () => {
    const rig = new Rig().strike();
    expect(rig.standoff_mm).toBeCloseTo(3, 1);
    expect(rig.trigger).toBe(true);
    expect(rig.permit).toBe(false);
  });

  it('waits pierce_ms from the arc’s jump on, then lowers, and gives the motion permit at cut height', () => {
    const rig = new Rig({ pierce_ms: 900 }).strike().until('pierce');
    const from = rig.ticks;
    rig.until('lower');
    // The dwell is counted from the end of the first stroke where the arc's beginning was not seen.
    expect(rig.ticks - from).toBeGreaterThanOrEqual(900);
    expect(rig.ticks - from).toBeLessThanOrEqual(900 + 160);
    expect(rig.standoff_mm).toBeCloseTo(3, 1);
    while (rig.mode === 'lower') {
      expect(rig.permit).toBe(false);
      rig.tick();
    }
    expect(rig.mode).toBe('settle');
    expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
    expect(rig.permit).toBe(true);
  });

  it('settles only with motion, and for settle_ms of it', () => {
    const rig = new Rig({ settle_ms: 200 }).strike().until('settle').run(1000);
    expect(rig.mode).toBe('settle');
    rig.x_steps = 8;
    const from = rig.ticks;
    rig.until('follow');
    expect(rig.ticks - from).toBe(200);
  });

  it('settles only with motion when settling takes no time', () => {
    const rig = new Rig({ settle_ms: 0 }).strike().until('settle').run(1000);
    expect(rig.mode).toBe('settle');
    rig.x_steps = 8;
    const from = rig.ticks;
    rig.until('follow');
    expect(rig.ticks - from).toBe(1);
  });
});

describe('reset', () => {
  const faulted = () => new Rig().at('follow').off(INPUT_BREAKAWAY).until('fault', 'wait');

  it.each<[string, number, number]>([
    ['with the request on', INPUT_REQUEST, 0],
    ['with the stop chain open', 0, INPUT_STOP_CHAIN],
    ['with the torch out of its holder', 0, INPUT_BREAKAWAY],
  ])('does nothing %s', (_, on, off) => {
    const rig = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600);
    rig.on(on).off(off).run(5).on(INPUT_RESET).run(5);
    expect(rig.mode).toBe('fault');
    rig.off(INPUT_REQUEST, INPUT_RESET).on(INPUT_STOP_CHAIN, INPUT_BREAKAWAY).run(5).on(INPUT_RESET).run(1);
    expect(rig.mode).toBe('rest');
    expect(rig.fault).toBe('none');
  });

  it('does nothing with voltage at the tap', () => {
    const rig = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(5);
    rig.plant = false;
    rig.true_V = 40;
    rig.run(30).on(INPUT_RESET).run(5);
    expect(rig.mode).toBe('fault');
  });

  it('needs an edge: a reset button that is held does nothing', () => {
    const rig = faulted().on(INPUT_RESET).run(5).on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600);
    expect(rig.mode).toBe('fault');
  });

  it('leaves the box disarmed until the key is turned off and on', () => {
    const rig = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600).on(INPUT_RESET).run(1).off(INPUT_RESET);
    rig.on(INPUT_TOP).run(5).off(INPUT_TOP).run(5);
    expect(rig.mode).toBe('rest');
    rig.on(INPUT_REQUEST).run(5);
    expect(rig.refusal).toBe('key');
    rig.off(INPUT_KEY, INPUT_REQUEST).run(40).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(rig.mode).toBe('seek');
  });

  it('closes the latched stop again', () => {
    const rig = new Rig().ready().run(600);
    rig.true_V = 140;
    rig.run(60);
    expect(rig.latched).toBe(true);
    rig.true_V = 0;
    rig.run(60).on(INPUT_RESET).run(1);
    expect(rig.latched).toBe(false);
    expect(rig.mode).toBe('rest');
  });
});
