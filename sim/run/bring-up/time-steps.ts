// Clocks and ticks, as far as they show on the link. Apart from the other steps: these change nothing in the box.
import { INPUT_OVERRUN } from '../../../firmware/wire/layout.gen.js';
import type { Session, Values } from '../../link/index.js';
import { loadControlModule } from '../controller/index.js';
import { atBox, type Bench, failed, passed, type StepContext, type StepResult } from './bench.js';

/** Who answers, and is it the module of this desk? */
export async function identityStep({ bench }: StepContext): Promise<StepResult> {
  const { sha256 } = loadControlModule();
  return atBox(bench, async (_, identity) => {
    const { version, module_sha256, image_sha256, boot } = identity;
    const figures = { version, module_sha256, image_sha256, boot };
    const words = `version ${version}, module ${module_sha256.slice(0, 12)}`;
    if (module_sha256 === sha256) return passed(`${words}, the one on the desk`, figures);
    return failed(`${words}, NOT the one on the desk, which is ${sha256.slice(0, 12)}`, figures);
  });
}

/**
 * Largest departure of box from host, parts in a million. A crystal is off by some tens, the clock of a PC by about as much
 * (common practice, no source); a wrong divider in the clocks is off by thousands at least.
 */
const CLOCK_ppm = 300;
const SAMPLE_ms = 20;

/** The box's milliseconds against those of the host: the slope of a straight line through both. */
export async function clocksStep({ bench, count }: StepContext): Promise<StepResult> {
  const points: { readonly host_ms: number; readonly tick: number; readonly trip_ms: number }[] = [];
  await atBox(bench, async (session) => {
    const end_ms = bench.now_ms() + 1000 * count;
    while (bench.now_ms() < end_ms) {
      const sent_ms = bench.now_ms();
      const { values } = await session.ask('ping');
      const came_ms = bench.now_ms();
      points.push({ host_ms: (sent_ms + came_ms) / 2, tick: values.tick as number, trip_ms: came_ms - sent_ms });
      await bench.pause(SAMPLE_ms);
    }
  });
  // A slow answer says little about when it was given.
  const usual_ms = points.map(({ trip_ms }) => trip_ms).sort((one, other) => one - other)[points.length >> 1];
  const used = points.filter(({ trip_ms }) => trip_ms <= usual_ms);
  const { slope, deviation } = straight(used.map(({ host_ms, tick }) => [host_ms, tick]));
  const off_ppm = 1e6 * (slope - 1);
  const figures = {
    off_ppm: round(off_ppm, 1),
    deviation_ppm: round(1e6 * deviation, 1),
    seconds: count,
    answers: used.length,
  };
  const words = `box against host over ${count} s: ${off_ppm.toFixed(0)} ppm, give or take ${(2e6 * deviation).toFixed(0)}`;
  return Math.abs(off_ppm) <= CLOCK_ppm + 2e6 * deviation
    ? passed(words, figures)
    : failed(`${words}; at most ${CLOCK_ppm}`, figures);
}

/** Slope of the straight line through points, and its standard deviation. */
function straight(points: readonly (readonly [number, number])[]) {
  const n = points.length;
  const mean = (pick: 0 | 1) => points.reduce((sum, point) => sum + point[pick], 0) / n;
  const [mean_x, mean_y] = [mean(0), mean(1)];
  const xx = points.reduce((sum, [x]) => sum + (x - mean_x) ** 2, 0);
  const slope = points.reduce((sum, [x, y]) => sum + (x - mean_x) * (y - mean_y), 0) / xx;
  const left = points.reduce((sum, [x, y]) => sum + (y - mean_y - slope * (x - mean_x)) ** 2, 0);
  return { slope, deviation: Math.sqrt(left / (n - 2) / xx) };
}

export const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** Rows of telemetry of so many ticks, one for each tick as far as they come. */
export async function rowsFrom(bench: Bench, session: Session, ticks: number): Promise<Values[]> {
  const rows: Values[] = [];
  session.onTelemetry = (row) => rows.push(row);
  // A box that hears nothing for a second ends the stream.
  session.watch();
  await session.ask('telemetry', { every_ms: 1 });
  const end_ms = bench.now_ms() + 2 * ticks + 2000;
  while (rows.length < ticks && bench.now_ms() < end_ms && session.lost === '') await bench.pause(SAMPLE_ms);
  if (session.lost === '') await session.ask('telemetry', { every_ms: 0 });
  session.onTelemetry = () => {};
  return rows.slice(0, ticks);
}

/** Rows that are missing among these. */
export const lostAmong = (rows: readonly Values[]): number =>
  rows.slice(1).reduce((sum, { tick }, at) => sum + (tick as number) - (rows[at].tick as number) - 1, 0);

/** Share of a millisecond that a tick may take. */
const TICK_SHARE = 0.5;

/** Every tick comes, none late, each short enough. */
export async function ticksStep({ bench, count }: StepContext): Promise<StepResult> {
  const { cycles_per_ms } = await atBox(bench, async (_, identity) => identity);
  const rows = await atBox(bench, (session) => rowsFrom(bench, session, count));
  const lost = lostAmong(rows);
  const late = rows.filter(({ digital_inputs }) => ((digital_inputs as number) & INPUT_OVERRUN) !== 0).length;
  const longest = Math.max(...rows.map(({ cycles }) => 4 * (cycles as number))) / cycles_per_ms;
  const figures = { ticks: rows.length, lost_rows: lost, late_ticks: late, longest_share_of_ms: round(longest, 3) };
  const words = `${rows.length} ticks: ${lost} rows lost, ${late} ticks late, the longest ${(100 * longest).toFixed(1)} % of a millisecond`;
  return rows.length === count && lost === 0 && late === 0 && longest <= TICK_SHARE
    ? passed(words, figures)
    : failed(words, figures);
}
