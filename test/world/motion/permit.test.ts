import { describe, expect, it } from 'vitest';
import { MotionState, STOP_REASON_TEXTS, StopReason } from '../../../sim/world/motion/index.js';
import { playerOf, runThrough } from './support.js';

const CUT = ['G21 G90 F3000', 'G0 X10', 'M3', 'G1 X60', 'Y50', 'M5', 'G4 P0.2', 'G0 X0 Y0', 'M30'];

/** A player that is under way in the cut at full feed, `ticks` after the first motion. */
function underWay(ticks: number, options = {}) {
  const player = playerOf(CUT, options);
  while (player.table.torch_request === 0) player.advance(false);
  for (let tick = 0; tick < ticks; tick++) player.advance(true);
  return player;
}

describe('the motion permit', () => {
  it('is not needed for rapids before the torch is requested', () => {
    const player = playerOf(CUT);
    for (let tick = 0; tick < 100; tick++) player.advance(false);
    expect(player.table.x_mm).toBeGreaterThan(1);
    expect(player.table.state).toBe(MotionState.running);
  });

  it('is waited for after M3, however long the box takes within the limit', () => {
    const player = playerOf(CUT);
    while (player.table.torch_request === 0) player.advance(true);
    for (let tick = 0; tick < 14_000; tick++) player.advance(false);
    expect(player.table).toMatchObject({ state: MotionState.waitingForPermit, x_mm: 10, torch_request: 1, contour: 0 });
    player.advance(true);
    expect(player.table.state).toBe(MotionState.running);
    expect(player.table.x_mm).toBeCloseTo(10.0005, 9);
  });

  it('does not count when it was given in the tick of the M3 itself', () => {
    const player = playerOf(CUT);
    while (player.table.torch_request === 0) player.advance(true);
    player.advance(false);
    expect(player.table.state).toBe(MotionState.waitingForPermit);
  });

  it('that never comes stops the program after the wait, with the reason', () => {
    const player = playerOf(CUT, { permit_wait_s: 2 });
    let ticks = 0;
    while (player.table.state < MotionState.stopped) {
      player.advance(false);
      if (player.table.torch_request === 1) ticks++;
    }
    expect(ticks).toBe(2000);
    expect(player.table).toMatchObject({
      state: MotionState.stopped,
      stop_reason: StopReason.permitNotGiven,
      torch_request: 0,
      x_mm: 10,
    });
    expect(STOP_REASON_TEXTS[player.table.stop_reason]).toBe('no motion permit in time');
  });

  it('withdrawn in a cut brakes the table, then takes the torch request back for good', () => {
    const player = underWay(200);
    expect(player.table.feed_mm_s).toBe(50);
    const x_mm = player.table.x_mm;
    player.advance(false);
    expect(player.table).toMatchObject({ state: MotionState.braking, torch_request: 1 });
    expect(player.table.feed_mm_s).toBeCloseTo(49, 12);
    // The permit comes back too late.
    runThrough(player, () => {
      if (player.table.state === MotionState.braking) expect(player.table.torch_request).toBe(1);
    });
    expect(player.table).toMatchObject({
      state: MotionState.stopped,
      stop_reason: StopReason.permitWithdrawn,
      torch_request: 0,
      feed_mm_s: 0,
      contour: 0,
    });
    expect(STOP_REASON_TEXTS[player.table.stop_reason]).toBe('permit withdrawn');
    expect(player.table.x_mm - x_mm).toBeCloseTo((50 * 50) / (2 * 1000), 9);
    player.advance(true);
    expect(player.table).toMatchObject({ torch_request: 0, x_steps: 0, y_steps: 0, state: MotionState.stopped });
  });

  it('withdrawn before a corner brakes around it along the path', () => {
    const player = playerOf(['G21 F3000', 'M3', 'G1 X50', 'Y50', 'M30']);
    while (player.table.x_mm < 49.99) player.advance(true);
    const path_mm = player.table.path_mm;
    const speed_mm_s = player.table.feed_mm_s;
    expect(speed_mm_s).toBeGreaterThan(7);
    while (player.table.state < MotionState.stopped) player.advance(false);
    expect(player.table.x_mm).toBe(50);
    expect(player.table.y_mm).toBeGreaterThan(0.005);
    expect(player.table.path_mm - path_mm).toBeCloseTo((speed_mm_s * speed_mm_s) / 2000, 9);
    expect(player.table.y_mm).toBeCloseTo(player.table.path_mm - 50, 9);
  });

  it('withdrawn while the planned braking is under way stops at the planned place', () => {
    const player = playerOf(['G21 F3000', 'M3', 'G1 X50', 'M5', 'G0 X0', 'M30']);
    while (player.table.x_mm < 49.5) player.advance(true);
    while (player.table.state < MotionState.stopped) player.advance(false);
    expect(player.table.x_mm).toBeCloseTo(50, 9);
    expect(player.table.x_mm).toBeLessThanOrEqual(50);
  });

  it('withdrawn in a dwell within the contour stops the program at once', () => {
    const player = playerOf(['G21 F3000', 'M3', 'G1 X5', 'G4 P1', 'X10', 'M30']);
    while (player.table.state !== MotionState.dwelling) player.advance(true);
    player.advance(false);
    expect(player.table).toMatchObject({
      state: MotionState.stopped,
      stop_reason: StopReason.permitWithdrawn,
      x_mm: 5,
    });
  });

  it('is not looked at after the start when the table uses it only there', () => {
    const player = underWay(1, { permit_use: 'start-only' });
    let ticks = 0;
    while (player.table.state < MotionState.stopped && ticks < 10_000) {
      player.advance(false);
      ticks++;
    }
    expect(player.table).toMatchObject({ state: MotionState.finished, stop_reason: StopReason.none, path_mm: 100 });
  });

  it('is waited for again at each contour', () => {
    const player = playerOf(['G21 F3000', 'M3', 'G1 X5', 'M5', 'M3', 'G1 X10', 'M5', 'M30']);
    while (player.table.contour < 1) player.advance(true);
    player.advance(false);
    expect(player.table).toMatchObject({ state: MotionState.waitingForPermit, x_mm: 5 });
  });

  it('is waited for as long at a later contour as at the first', () => {
    const lines = ['G21 F3000', 'M3', 'G1 X5', 'M5', 'M3', 'G1 X10', 'M5', 'M30'];
    const player = playerOf(lines, { permit_wait_s: 1 });
    for (const contour of [0, 1]) {
      while (player.table.contour < contour) player.advance(true);
      for (let tick = 0; tick < 900; tick++) player.advance(false);
      expect(player.table.state).toBe(MotionState.waitingForPermit);
    }
    expect(runThrough(player)).toBeGreaterThan(0);
    expect(player.table.state).toBe(MotionState.finished);
  });

  it('given during a dwell after M3 does not shorten the dwell, and is not watched before the first motion', () => {
    const player = playerOf(['G21 F3000', 'M3', 'G4 P0.5', 'G1 X5', 'M5', 'M30']);
    player.advance(true);
    for (let tick = 0; tick < 499; tick++) player.advance(tick % 2 === 0);
    expect(player.table).toMatchObject({ state: MotionState.dwelling, x_mm: 0 });
    player.advance(true);
    player.advance(true);
    expect(player.table.state).toBe(MotionState.running);
    expect(player.table.x_mm).toBeGreaterThan(0);
  });
});

describe('the latched stop of the box', () => {
  it('drops the torch request at once and brakes', () => {
    const player = underWay(200);
    player.advance(true, true);
    expect(player.table).toMatchObject({ state: MotionState.braking, torch_request: 0 });
    expect(player.table.feed_mm_s).toBeCloseTo(49, 12);
    const path_mm = player.table.path_mm;
    runThrough(player);
    expect(player.table).toMatchObject({
      state: MotionState.stopped,
      stop_reason: StopReason.latchedStop,
      feed_mm_s: 0,
    });
    expect(player.table.path_mm).toBe(path_mm);
    expect(STOP_REASON_TEXTS[player.table.stop_reason]).toBe('latched stop of the box');
  });

  it('brakes a rapid too', () => {
    const player = playerOf(['G0 X100', 'M30']);
    for (let tick = 0; tick < 50; tick++) player.advance(false);
    const speed_mm_s = player.table.feed_mm_s;
    const x_mm = player.table.x_mm;
    while (player.table.state < MotionState.stopped) player.advance(false, true);
    expect(player.table.x_mm - x_mm).toBeCloseTo((speed_mm_s * speed_mm_s) / 2000, 9);
  });

  it('ends a wait or a dwell at once', () => {
    const waiting = underWay(0);
    waiting.advance(false);
    waiting.advance(false, true);
    expect(waiting.table).toMatchObject({
      state: MotionState.stopped,
      stop_reason: StopReason.latchedStop,
      torch_request: 0,
    });
    const dwelling = playerOf(['G4 P1', 'M30']);
    dwelling.advance(true);
    dwelling.advance(true, true);
    expect(dwelling.table.state).toBe(MotionState.stopped);
  });

  it('withdraws the request when the table is braking already, and keeps the first reason', () => {
    const player = underWay(200);
    player.advance(false);
    player.advance(false, true);
    expect(player.table).toMatchObject({ torch_request: 0, state: MotionState.braking });
    runThrough(player);
    expect(player.table.stop_reason).toBe(StopReason.permitWithdrawn);
  });
});
