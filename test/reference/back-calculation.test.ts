/**
 * Back-calculation, dI/dt = (K/Ti)·e + (u_sat − u)/Tt: in held saturation u − u_sat → K·e·Tt/Ti. Åström–Hägglund,
 * Advanced PID Control (the equation second hand; its limit follows by setting dI/dt = 0).
 */
import { expect, it } from 'vitest';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { DESK_BOX, Desk } from './desk.js';

const RC_MS = 0.47;
/** The regulator's f32 stand 256 bytes into the state; the integral is the sixth of them (firmware/control/state.ts). */
const INTEGRAL_AT = 256 + 4 * 5;
/** Both ways the same limit, so that one figure holds for up and down. */
const LIMIT_MM_S = 5;
const BOX = { ...DESK_BOX, z_velocity_mm_s: LIMIT_MM_S, follow_down_mm_s: LIMIT_MM_S, seek_fast_mm_s: 5 };

/** Downward speed that the integrator stands for. */
function integral_mm_s(desk: Desk): number {
  const bytes = desk.controller.state();
  return new DataView(bytes.buffer, bytes.byteOffset).getFloat32(INTEGRAL_AT, true);
}

function wait(desk: Desk, ticks: number): void {
  for (let tick = 0; tick < ticks; tick++) desk.tick();
  expect(desk.mode).toBe(MODE_FOLLOW);
}

// Tt < Ti throughout: beyond that the integrator would first meet its own bound, the speed limit.
it.each([
  { error_mm: 0.1, gain_p_per_s: 22, gain_i_per_s2: 160, tracking_ms: 100 },
  { error_mm: -0.1, gain_p_per_s: 22, gain_i_per_s2: 160, tracking_ms: 100 },
  { error_mm: 0.1, gain_p_per_s: 10, gain_i_per_s2: 400, tracking_ms: 20 },
  { error_mm: -0.05, gain_p_per_s: 30, gain_i_per_s2: 300, tracking_ms: 80 },
])(
  'leads the integrator to u − u_sat = K·e·Tt/Ti: $error_mm mm, $gain_p_per_s/s, $gain_i_per_s2/s², $tracking_ms ms',
  ({ error_mm, ...gains }) => {
    const desk = new Desk({ ...BOX, ...gains }, RC_MS).follow();
    wait(desk, 500);
    desk.fixed_error_mm = error_mm;
    const K = gains.gain_p_per_s;
    const Ti_s = K / gains.gain_i_per_s2;

    // Short of the limit the speed is −(K·e + I): the number that is read from the state is the integral.
    wait(desk, 60);
    expect(Math.abs(desk.velocity_mm_s)).toBeLessThan(LIMIT_MM_S);
    const before_mm_s = integral_mm_s(desk);
    desk.tick();
    // A count of the converter is 0.8 µm of error.
    expect(-desk.velocity_mm_s).toBeCloseTo(K * error_mm + before_mm_s, 1);

    // Ten of its time constants after the speed has come to its limit.
    wait(desk, 1500);
    const limit_mm_s = Math.sign(error_mm) * LIMIT_MM_S;
    expect(-desk.velocity_mm_s).toBeCloseTo(limit_mm_s, 5);
    const excess_mm_s = K * error_mm + integral_mm_s(desk) - limit_mm_s;
    const expected_mm_s = (K * error_mm * (gains.tracking_ms / 1000)) / Ti_s;
    // f32 over some thousand additions, and half a count in the error.
    expect(Math.abs(excess_mm_s / expected_mm_s - 1)).toBeLessThan(0.01);
  },
);
