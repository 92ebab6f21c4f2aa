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
import { Desk } from './bench.js';

describe('a torch request is refused', () => {
  it.each<[string, (desk: Desk) => unknown]>([
    ['key', (desk) => desk.off(INPUT_KEY).run(40)],
    ['stop-chain', (desk) => desk.off(INPUT_STOP_CHAIN)],
    ['breakaway', (desk) => desk.off(INPUT_BREAKAWAY).run(3)],
  ])('for %s, and then not taken when the cause goes: it must be given again', (cause, spoil) => {
    const desk = new Desk().ready();
    spoil(desk);
    desk.on(INPUT_REQUEST).run(5);
    expect(desk.refusal).toBe(cause);
    desk.on(INPUT_KEY, INPUT_STOP_CHAIN, INPUT_BREAKAWAY).run(50);
    expect(desk.mode).toBe('rest');
    expect(desk.refusal).toBe('request-held');
    expect(desk.owned).toBe(false);
    desk.off(INPUT_REQUEST).run(40).on(INPUT_REQUEST).run(1);
    expect(desk.mode).toBe('seek');
  });

  it('before Z has been at the top switch', () => {
    const desk = new Desk().run(40).on(INPUT_KEY).run(5).on(INPUT_REQUEST).run(1);
    expect(desk.refusal).toBe('not-homed');
    expect(desk.flag(FLAG_HOMED)).toBe(false);
  });

  it('with voltage at the tap', () => {
    const desk = new Desk().ready();
    desk.true_V = 40;
    desk.run(16).on(INPUT_REQUEST).run(1);
    expect(desk.refusal).toBe('voltage');
  });

  it('with voltage of the wrong sign at the tap', () => {
    const desk = new Desk({ rest_V: 5 }).ready();
    desk.true_V = -11;
    desk.run(16).on(INPUT_REQUEST).run(1);
    expect(desk.refusal).toBe('voltage');
  });

  it.each<[string, Readonly<Record<string, number>>]>([
    ['rest_V over arc_low_V', { rest_V: 60, arc_low_V: 50 }],
    ['arc_low_V over target_V', { arc_low_V: 120 }],
    ['target_V over transfer_V', { target_V: 140 }],
    ['transfer_V over arc_high_V', { transfer_V: 200 }],
    ['cut_height_mm over pierce_height_mm', { cut_height_mm: 4 }],
    ['seek_slow_mm_s over seek_fast_mm_s', { seek_fast_mm_s: 1 }],
    ['seek_travel_mm over travel_mm', { seek_travel_mm: 80 }],
    ['follow_down_mm_s over z_velocity_mm_s', { z_velocity_mm_s: 5 }],
    ['more Z steps than a millisecond has room for', { z_velocity_mm_s: 81.1, z_steps_per_mm: 1000 }],
  ])('with parameters that contradict each other: %s', (_, parameters) => {
    const desk = new Desk(parameters).ready().on(INPUT_REQUEST).run(1);
    expect(desk.refusal).toBe('parameters');
    expect(desk.mode).toBe('rest');
  });

  it('when it was on at power-up', () => {
    const desk = new Desk().on(INPUT_REQUEST).ready().run(100);
    expect(desk.refusal).toBe('request-held');
    expect(desk.mode).toBe('rest');
  });

  it('while a fault is latched, and says so', () => {
    const desk = new Desk().at('follow').off(INPUT_STOP_CHAIN).run(200);
    expect(desk.mode).toBe('fault');
    expect(desk.refusal).toBe('fault');
  });

  it('with a key that was on at power-up, until the key is cycled', () => {
    const desk = new Desk().on(INPUT_KEY, INPUT_TOP).run(100).off(INPUT_TOP).on(INPUT_REQUEST).run(100);
    expect(desk.refusal).toBe('key');
    desk.off(INPUT_KEY, INPUT_REQUEST).run(40).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(desk.mode).toBe('seek');
  });

  it('after the key went off and on during a cut, until the request is taken off', () => {
    const desk = new Desk().at('follow').off(INPUT_KEY).run(40).on(INPUT_KEY);
    desk.until('rest').run(100);
    expect(desk.refusal).toBe('request-held');
    expect(desk.mode).toBe('rest');
  });
});

describe('homing', () => {
  it('counts only while Z belongs to the motion controller', () => {
    const desk = new Desk().at('follow').off(INPUT_STOP_CHAIN);
    desk.on(INPUT_TOP).run(2);
    desk.off(INPUT_TOP);
    desk.until('fault', 'wait');
    expect(desk.flag(FLAG_HOMED)).toBe(false);
    desk.on(INPUT_TOP).run(3);
    expect(desk.flag(FLAG_HOMED)).toBe(true);
  });
});

describe('seek', () => {
  const seeking = (parameters = {}): Desk => {
    const desk = new Desk(parameters).ready();
    desk.plant = true;
    return desk.on(INPUT_REQUEST);
  };

  it('goes fast down, back off the switch, slowly down, and lifts slowly until the switch opens', () => {
    const desk = seeking();
    const stages: string[] = [];
    while (desk.tick().mode === 'seek') if (stages.at(-1) !== desk.stage) stages.push(desk.stage);
    expect(stages).toEqual(['fast', 'back', 'slow', 'open']);
    expect(desk.mode).toBe('lift');
    // Opening is debounced by three ticks at 2 mm/s, and the lift begins a step above.
    const touched_mm = desk.state('z_touched') / 400;
    expect(touched_mm).toBeGreaterThanOrEqual(desk.sheet_mm);
    expect(touched_mm).toBeLessThan(desk.sheet_mm + 0.02);
    expect(desk.trigger).toBe(false);
  });

  it('never goes down faster than seek_slow_mm_s in the second approach', () => {
    const desk = seeking({ seek_slow_mm_s: 1 }).until('seek', 'slow');
    let down_mm_s = 0;
    for (; desk.stage === 'slow'; desk.tick()) down_mm_s = Math.max(down_mm_s, -desk.real(OUTPUT_Z_VELOCITY_MM_S));
    expect(down_mm_s).toBe(1);
  });

  it('puts the sheet touch_offset_mm below where the switch opens', () => {
    const plain = seeking().until('lift').state('z_touched');
    expect(seeking({ touch_offset_mm: 0.5 }).until('lift').state('z_touched')).toBe(plain - 200);
    expect(seeking({ touch_offset_mm: -0.5 }).until('lift').state('z_touched')).toBe(plain + 200);
  });

  it('refuses a switch that is closed before it begins', () => {
    const desk = new Desk().ready().on(INPUT_TOUCH).run(5).on(INPUT_REQUEST).run(2);
    expect(desk.fault).toBe('touch-closed');
    expect(desk.z_mm).toBe(0);
  });

  it('gives up after seek_travel_mm without a sheet, and goes back up', () => {
    const desk = seeking({ seek_travel_mm: 20 });
    desk.sheet_mm = -40;
    desk.until('fault', 'fall');
    expect(desk.fault).toBe('touch-missing');
    expect(desk.z_mm).toBeGreaterThan(-21);
    desk.until('fault', 'wait');
    expect(desk.z_mm).toBeCloseTo(0, 6);
    expect(desk.flag(FLAG_HOMED)).toBe(true);
  });

  it('gives up before the end of its travel when there is no sheet', () => {
    const desk = seeking({ seek_travel_mm: 60, travel_mm: 60 });
    desk.sheet_mm = -100;
    desk.until('fault', 'fall');
    expect(desk.fault).toBe('touch-missing');
    expect(desk.z_mm).toBeGreaterThanOrEqual(-60);
  });

  it('notices a switch that does not open in 5 mm of lift', () => {
    const desk = seeking();
    desk.until('seek', 'back');
    desk.plant = false;
    desk.until('fault');
    expect(desk.fault).toBe('touch-stuck');
    expect(desk.z_mm).toBeLessThan(desk.sheet_mm + 5.3);
  });

  it('notices a switch that does not open before Z is back where it was taken over', () => {
    const desk = seeking();
    desk.sheet_mm = -3;
    desk.until('seek', 'back');
    desk.plant = false;
    desk.until('fault', 'wait', 5000);
    expect(desk.fault).toBe('touch-stuck');
  });

  it('refuses a sheet so near that pierce height lies above where the box took Z over', () => {
    const desk = seeking({ pierce_height_mm: 3 });
    desk.sheet_mm = -2;
    desk.until('fault', 'wait', 5000);
    expect(desk.fault).toBe('travel');
    expect(desk.z_mm).toBeCloseTo(0, 6);
  });
});

describe('lift, pierce and lower', () => {
  it('strikes at pierce height above the touched sheet', () => {
    const desk = new Desk().strike();
    expect(desk.standoff_mm).toBeCloseTo(3, 1);
    expect(desk.trigger).toBe(true);
    expect(desk.permit).toBe(false);
  });

  it('waits pierce_ms at pierce height, then lowers, and gives the motion permit at cut height', () => {
    const desk = new Desk({ pierce_ms: 300 }).strike().until('pierce');
    const from = desk.ticks;
    desk.until('lower');
    expect(desk.ticks - from).toBe(300);
    expect(desk.standoff_mm).toBeCloseTo(3, 1);
    while (desk.mode === 'lower') {
      expect(desk.permit).toBe(false);
      desk.tick();
    }
    expect(desk.mode).toBe('settle');
    expect(desk.standoff_mm).toBeCloseTo(1.5, 1);
    expect(desk.permit).toBe(true);
  });

  it('settles only with motion, and for settle_ms of it', () => {
    const desk = new Desk({ settle_ms: 200 }).strike().until('settle').run(1000);
    expect(desk.mode).toBe('settle');
    desk.x_steps = 8;
    const from = desk.ticks;
    desk.until('follow');
    expect(desk.ticks - from).toBe(200);
  });
});

describe('reset', () => {
  const faulted = () => new Desk().at('follow').off(INPUT_BREAKAWAY).until('fault', 'wait');

  it.each<[string, number, number]>([
    ['with the request on', INPUT_REQUEST, 0],
    ['with the stop chain open', 0, INPUT_STOP_CHAIN],
    ['with the torch out of its holder', 0, INPUT_BREAKAWAY],
  ])('does nothing %s', (_, on, off) => {
    const desk = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600);
    desk.on(on).off(off).run(5).on(INPUT_RESET).run(5);
    expect(desk.mode).toBe('fault');
    desk.off(INPUT_REQUEST, INPUT_RESET).on(INPUT_STOP_CHAIN, INPUT_BREAKAWAY).run(5).on(INPUT_RESET).run(1);
    expect(desk.mode).toBe('rest');
    expect(desk.fault).toBe('none');
  });

  it('does nothing with voltage at the tap', () => {
    const desk = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(5);
    desk.plant = false;
    desk.true_V = 40;
    desk.run(30).on(INPUT_RESET).run(5);
    expect(desk.mode).toBe('fault');
  });

  it('needs an edge: a reset button that is held does nothing', () => {
    const desk = faulted().on(INPUT_RESET).run(5).on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600);
    expect(desk.mode).toBe('fault');
  });

  it('leaves the box disarmed until the key is turned off and on', () => {
    const desk = faulted().on(INPUT_BREAKAWAY).off(INPUT_REQUEST).run(600).on(INPUT_RESET).run(1).off(INPUT_RESET);
    desk.on(INPUT_TOP).run(5).off(INPUT_TOP).run(5);
    expect(desk.mode).toBe('rest');
    desk.on(INPUT_REQUEST).run(5);
    expect(desk.refusal).toBe('key');
    desk.off(INPUT_KEY, INPUT_REQUEST).run(40).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(desk.mode).toBe('seek');
  });

  it('closes the latched stop again', () => {
    const desk = new Desk().ready().run(600);
    desk.true_V = 140;
    desk.run(60);
    expect(desk.latched).toBe(true);
    desk.true_V = 0;
    desk.run(60).on(INPUT_RESET).run(1);
    expect(desk.latched).toBe(false);
    expect(desk.mode).toBe('rest');
  });
});
