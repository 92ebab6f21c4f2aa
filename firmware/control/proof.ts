// The proof that an arc burns to the work: its voltage answers to the torch, that of a pilot does not. From arc OK on Z makes
// strokes upwards from pierce height; least squares of the voltage on Z, beside the pierce's excess (two exponentials), a
// constant and a drift, by square-root-free Givens rotations, one a tick (W. M. Gentleman, 1974): no equations to solve, no
// sum of squares of large numbers, and with Z as the last column its coefficient and its variance stand there ready.

import { STROKE_UM, STROKES_MOST } from '../wire/layout.gen';
import { insideWindow } from './arc';
import { aboveSheet } from './axis';
import { SAMPLE_TICKS } from './derived';
import { exceeds, isZero, TICK_S } from './numbers';
import { COLUMNS, D, F, P, PROOF_BYTES, Q, R, ROWS, S, SAMPLE, STROKE_SUMS, STROKES } from './state';

/** What the strokes say (S.verdict). */
export const NOT_YET = 0;
export const PROVED = 1;
/** Less than any arc answers: a pilot. */
export const NO_RESPONSE = 2;
/** The wrong sign, or nothing certain after the most strokes. */
export const REFUSED = 3;

/** Columns of the fit. */
const Z = COLUMNS - 1;
const VOLTS = COLUMNS;
const WIDTH = COLUMNS + 1;

const SAMPLE_S: f32 = <f32>SAMPLE_TICKS * TICK_S;
/** What 10 ms leave of exponentials of 60 and 200 ms: between them every decay of the excess. */
const FAST_KEEP: f32 = 0.84648172;
const SLOW_KEEP: f32 = 0.95122942;
const MIDDLE_MM: f32 = <f32>STROKE_UM * <f32>0.0005;

/** Strokes before anything is decided; with a contact of the supply's own as a second witness. */
const LEAST_STROKES = 3;
const LEAST_STROKES_BESIDE_CONTACT = 2;
/** An answer must be above this, V/mm, and so many standard deviations. */
const LEAST_V_PER_MM: f32 = 0.4;
const DEVIATIONS: f32 = 6.5;
const DEVIATIONS_BESIDE_CONTACT: f32 = 2.5;
/** No arc answers less than this, V/mm; and how sure that must be. */
const NO_ARC_V_PER_MM: f32 = 1.5;
const NO_ARC_DEVIATIONS: f32 = 3;
/** The noise is coloured: at the strokes' frequency no low-passed noise has more than twice its mean density. */
const COLOUR: f32 = 2;
/** Share of the fit that every stroke must answer by itself. */
const LEAST_SHARE: f32 = 0.5;
/** A first stroke that answers less than this share may have begun before the arc. */
const FIRST_SHARE: f32 = 0.75;
/** A sample further than this from its forecast, V, is a jump: a pilot, or a transfer. */
const JUMP_V2: f32 = 5 * 5;
const FIRST_JUMP_V: f32 = 8;
/** More than this is left of no arc, V². */
const REST_V2: f32 = 2.5 * 2.5;
/** Standard deviations by which the last stroke answers more than the first where the arc began in between. */
const GROWN_DEVIATIONS: f32 = 2;
/** Samples before a forecast is worth something. */
const FORECAST_SAMPLES = 10;
/** The noise is never taken for less, V²: a handful of samples that happen to lie still prove nothing. */
const LEAST_REST_V2: f32 = 0.5;

function at(row: i32, column: i32): usize {
  return ROWS + ((<usize>(row * WIDTH + column)) << 2);
}
function cell(row: i32, column: i32): f32 {
  return load<f32>(at(row, column));
}
function sample(column: i32): f32 {
  return load<f32>(SAMPLE + ((<usize>column) << 2));
}
function put(column: i32, value: f32): void {
  store<f32>(SAMPLE + ((<usize>column) << 2), value);
}

/** All sums start again; the stroke under way is not whole in them. */
function forget(): void {
  const block = changetype<usize>(Q);
  for (let place: usize = 0; place < PROOF_BYTES; place += 4) store<i32>(block + place, 0);
  S.verdict = NOT_YET;
  S.proved = 0;
  // The dwell is that of the arc that is being proved.
  S.timer = 0;
}

/** With Z at rest at pierce height: the stroke that begins is whole in the sums. */
export function beginProof(): void {
  forget();
  Q.whole = 1;
}

/** What went before was no arc, or not this one. Bounded: an arc must not burn on one spot until it is quiet. */
export function beginAgain(): void {
  forget();
  if (S.fired_ms >= D.proof_begins_ticks) S.verdict = REFUSED;
}

/** The voltage has jumped: what burns from here on is one thing. */
function beginAtJump(): void {
  beginAgain();
  Q.jumped = 1;
  // As after arc OK, which comes so long after the arc.
  S.timer = -D.arc_on_ticks;
}

/** One tick of the strokes. */
export function watchStroke(): void {
  if (!insideWindow()) {
    beginAgain();
    return;
  }
  Q.wait++;
  if (Q.wait == D.stroke_look) Q.z_steps = S.z - aboveSheet(P.pierce_height_mm);
  if (Q.wait >= SAMPLE_TICKS) takeSample();
  else if (Q.left > 0) workIn();
}

function takeSample(): void {
  Q.wait = 0;
  Q.left = COLUMNS;
  Q.weight = 1;
  if (Q.samples == 0) {
    Q.fast = 1;
    Q.slow = 1;
  } else {
    Q.time_s += SAMPLE_S;
    Q.fast *= FAST_KEEP;
    Q.slow *= SLOW_KEEP;
  }
  Q.samples++;
  const z_mm = <f32>Q.z_steps * D.mm_per_z_step;
  put(0, 1);
  put(1, Q.time_s);
  put(2, Q.fast);
  put(3, Q.slow);
  put(Z, z_mm);
  // Before there is a fit to forecast by, the last but one is the forecast: a jump may be spread over two samples.
  const risen_V = F.mean_V - Q.last_but_one_V;
  Q.last_but_one_V = Q.last_V;
  Q.last_V = F.mean_V;
  if (Q.samples > 2 && Q.samples <= FORECAST_SAMPLES && exceeds(risen_V, FIRST_JUMP_V)) {
    beginAtJump();
    return;
  }
  put(VOLTS, F.mean_V);
  addToStroke(z_mm - MIDDLE_MM);
}

function strokeSum(stroke: i32, column: i32): usize {
  return STROKES + ((<usize>(stroke * STROKE_SUMS + column)) << 2);
}

function addToStroke(from_middle_mm: f32): void {
  const stroke = Q.strokes < STROKES_MOST ? Q.strokes : STROKES_MOST - 1;
  for (let column = 0; column < STROKE_SUMS; column++) {
    const sum = strokeSum(stroke, column);
    store<f32>(sum, load<f32>(sum) + from_middle_mm * sample(column));
  }
}

/** Works one column of the sample into the fit. */
function workIn(): void {
  const row = COLUMNS - Q.left;
  Q.left--;
  const value = sample(row);
  if (!isZero(Q.weight) && !isZero(value)) rotate(row, value);
  if (Q.left > 0) return;
  const rest_V = sample(VOLTS);
  const rest_V2 = Q.weight * rest_V * rest_V;
  Q.rest_V2 += rest_V2;
  if (Q.samples > FORECAST_SAMPLES && rest_V2 > JUMP_V2) beginAtJump();
}

function rotate(row: i32, value: f32): void {
  const before = cell(row, row);
  const weighted = Q.weight * value;
  const after = before + weighted * value;
  const inverse = <f32>1 / after;
  const keep = before * inverse;
  const share = weighted * inverse;
  store<f32>(at(row, row), after);
  Q.weight *= keep;
  for (let column = row + 1; column <= VOLTS; column++) {
    const place = at(row, column);
    const old = load<f32>(place);
    const given = sample(column);
    put(column, given - value * old);
    store<f32>(place, keep * old + share * given);
  }
}

/** With Z at pierce height after a stroke. @returns true once the next one may begin */
export function strokeOver(): bool {
  if (Q.left > 0) return false;
  if (Q.whole) {
    Q.strokes++;
    if (Q.strokes == 1) Q.first_ticks = S.timer;
    decide();
  }
  Q.whole = 1;
  return true;
}

function decide(): void {
  const freedom = Q.samples - COLUMNS;
  if (Q.strokes < (D.contact_used ? LEAST_STROKES_BESIDE_CONTACT : LEAST_STROKES) || freedom <= 0) return;
  const variance = Q.rest_V2 / <f32>freedom;
  if (variance > REST_V2) {
    beginAgain();
    return;
  }
  const slope = cell(Z, VOLTS);
  const noise_V2 = variance > LEAST_REST_V2 ? variance : LEAST_REST_V2;
  const deviation = sqrt<f32>((COLOUR * noise_V2) / cell(Z, Z));
  R.proof_slope_V_per_mm = slope;
  const sure = LEAST_V_PER_MM + (D.contact_used ? DEVIATIONS_BESIDE_CONTACT : DEVIATIONS) * deviation;
  solveOthers(slope);
  if (slope > sure) {
    // A stroke that does not answer like the others was none of this arc's.
    if (everyStroke(slope)) prove(slope);
    else beginAgain();
  } else if (-slope > sure) {
    S.verdict = REFUSED;
  } else if (slope + NO_ARC_DEVIATIONS * deviation < NO_ARC_V_PER_MM) {
    S.verdict = NO_RESPONSE;
  } else if (Q.strokes >= STROKES_MOST || hasGrown(deviation)) {
    // As long as a strike may wait for an arc there may not have been one all the time.
    if (S.fired_ms < D.strike_ticks) beginAgain();
    else if (Q.strokes >= STROKES_MOST) S.verdict = REFUSED;
  }
}

function prove(slope: f32): void {
  S.verdict = PROVED;
  // An arc whose beginning was not seen may have begun in the first stroke: the dwell is counted from its end.
  const first_late = answerOf(0) < FIRST_SHARE * slope * load<f32>(strokeSum(0, Z));
  if (!Q.jumped || first_late) S.timer -= Q.first_ticks;
}

/** The other columns' coefficients, into the places of the sample, which is worked in. */
function solveOthers(slope: f32): void {
  const slow = cell(3, VOLTS) - cell(3, Z) * slope;
  const fast = cell(2, VOLTS) - cell(2, 3) * slow - cell(2, Z) * slope;
  const drift = cell(1, VOLTS) - cell(1, 2) * fast - cell(1, 3) * slow - cell(1, Z) * slope;
  put(0, cell(0, VOLTS) - cell(0, 1) * drift - cell(0, 2) * fast - cell(0, 3) * slow - cell(0, Z) * slope);
  put(1, drift);
  put(2, fast);
  put(3, slow);
}

/** What a stroke answers by itself, times the sum of squares of its Z: its voltage without the other columns. */
function answerOf(stroke: i32): f32 {
  let answer = load<f32>(strokeSum(stroke, VOLTS));
  for (let column = 0; column < Z; column++) answer -= sample(column) * load<f32>(strokeSum(stroke, column));
  return answer;
}

/** Every stroke by itself answers with a good part of the fit: what jumps or wanders does so in some of them. */
function everyStroke(slope: f32): bool {
  for (let stroke = 0; stroke < Q.strokes; stroke++) {
    if (answerOf(stroke) <= LEAST_SHARE * slope * load<f32>(strokeSum(stroke, Z))) return false;
  }
  return true;
}

function hasGrown(deviation: f32): bool {
  const last = Q.strokes - 1;
  const first = answerOf(0) / load<f32>(strokeSum(0, Z));
  const grown = answerOf(last) / load<f32>(strokeSum(last, Z)) - first;
  const both = 2 * Q.strokes;
  return grown > GROWN_DEVIATIONS * deviation * sqrt<f32>(<f32>both);
}
