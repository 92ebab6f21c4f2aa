// Apart from divider.ts, which is long enough: the data sheet as a person reads it.

import type { FaultTrial, TrialResult } from '../../campaign/index.js';
import {
  type DataSheet,
  DERATING,
  ohmText,
  type ReadyMadeSheet,
  type SearchResult,
  sourceText,
  type Use,
} from '../../electrical/index.js';
import type { Setup } from '../../run/setup/index.js';
import { fixed, type TerminalStyle } from '../../views/text/index.js';
import { HIGH_VOLTAGE_CAUTIONS, Page, type TableHead } from '../base/page.js';

/** Everything that the command found. */
export interface DividerReport {
  readonly setup: Setup;
  readonly use: Use;
  readonly data_sheet: DataSheet;
  readonly trials: readonly FaultTrial[];
  readonly module_sha256: string;
  /** Absent with --check. */
  readonly search?: SearchResult;
  readonly rank: number;
  readonly warnings: readonly string[];
}

const left = 'left' as const;
const right = 'right' as const;

/** The data sheet of a divider, for a person who reads data sheets. */
export function dividerPage(report: DividerReport, style: TerminalStyle): string {
  const { data_sheet, search, rank, setup, warnings } = report;
  const { divider } = setup.machine;
  const page = new Page(style);
  for (const warning of warnings) page.quiet(`note: ${warning}`);
  const parts =
    `${divider.top_resistors} × ${ohmText(divider.top_kohm * 1000)} over ${ohmText(divider.bottom_kohm * 1000)}, ` +
    `${data_sheet.parts.find(({ names }) => names === 'C1')!.what.split(',')[0]}`;
  if (search) searched(page, search, rank, divider.series);
  page.strong(`${search ? `Proposal ${rank}` : 'Checked'}: ${parts}`);
  verdict(page, report);
  rangeAndErrors(page, data_sheet);
  filter(page, data_sheet);
  loads(page, data_sheet);
  distances(page, data_sheet);
  faultLines(page, report);
  page.heading('Parts');
  for (const { names, count, what, place } of data_sheet.parts) page.say(`${names} (${count}): ${what}; ${place}`);
  page.heading('Cautions');
  for (const caution of HIGH_VOLTAGE_CAUTIONS) page.quiet(caution);
  page.quiet(
    'The resistors at the tap are the protection of whoever touches a lead: a supply fuses nothing at this current.',
  );
  return page.text();
}

function searched(page: Page, { proposals, tried, kept }: SearchResult, rank: number, series: number): void {
  page.say(
    `Tried: ${tried} combinations of E${series}; ${kept} keep every limit and rating. The first ${proposals.length}:`,
  );
  const head: TableHead = {
    titles: ['', 'upper', 'lower', 'filter', 'ratio', 'wander mm', 'lead mA', 'delay ms'],
    sides: [right, left, right, right, right, right, right, right],
  };
  page.table(
    head,
    proposals.map(({ machine: { divider }, ratio, figures }, n) => [
      `${n + 1}${n + 1 === rank ? '*' : ''}`,
      `${divider.top_resistors} × ${ohmText(divider.top_kohm * 1000)}`,
      ohmText(divider.bottom_kohm * 1000),
      `${divider.capacitor_nF} nF`,
      fixed(ratio, 2),
      fixed(figures.wander_mm, 3),
      fixed(figures.lead_mA, 2),
      fixed(figures.delay_ms, 2),
    ]),
  );
}

function verdict(page: Page, { data_sheet, trials }: DividerReport): void {
  const results = trials.flatMap((trial) => trial.results);
  const counted = (['noticed', 'late', 'harmless', 'rougher', 'unnoticed'] as const)
    .map((word) => [word, results.filter(({ verdict: found }) => found === word).length] as const)
    .filter(([, count]) => count > 0)
    .map(([word, count]) => `${count} ${word}`);
  const violated = data_sheet.violated.map(
    (name) => `${name} ${fixed(data_sheet.figures[name], 3)} (limit ${data_sheet.limits[name]})`,
  );
  if (violated.length > 0) page.alarm(`Limits not kept: ${violated.join('; ')}.`);
  for (const finding of data_sheet.findings) page.alarm(`Found: ${finding}.`);
  if (violated.length + data_sheet.findings.length === 0) {
    page.strong('Found: every limit is kept and no rating exceeded.');
  }
  const bad = results.some((result) => result.verdict === 'unnoticed' || result.verdict === 'late');
  const text = `Single faults: ${trials.length} tried at two moments each; ${counted.join(', ')}.`;
  if (bad) page.alarm(text);
  else page.strong(text);
}

function rangeAndErrors(page: Page, { tap, scale, budget, load_percent }: DataSheet): void {
  const V = (value: number, decimals = 2) => `${fixed(value, decimals)} V`;
  page.heading('Ratio and range').pairs([
    [
      'ratio',
      `${fixed(tap.ratio, 2)}; ${fixed(budget.lowest_ratio, 2)} to ${fixed(budget.highest_ratio, 2)} at worst, ` +
        `±${fixed(budget.likely_ratio_percent, 2)} % in 95 of 100`,
    ],
    ['next stage takes', `${fixed(load_percent, 2)} % of the tap's current; counted in the ratio`],
    [
      'full scale',
      `${V(scale.full_scale_V, 0)} (the ${scale.ended_by} ends it), ${V(scale.least_full_scale_V, 0)} with unlucky parts`,
    ],
    ['above no load', `${fixed(scale.headroom_percent, 0)} %`],
    ['lowest', `${V(scale.lowest_V, 1)}: so far reversed leads are read`],
    ['noise', `${fixed(budget.noise_V_rms * 1000, 0)} mV rms a reading, of the converter alone`],
    ['one step', `${fixed(scale.step_V * 1000, 1)} mV of arc, ${fixed(budget.step_mm, 4)} mm`],
  ]);
  page.heading(`Errors at ${budget.at_V} V, with ${budget.slope_V_per_mm} V/mm assumed`);
  page.table(
    { titles: ['cause', 'V', 'mm', ''], sides: [left, right, right, left] },
    budget.terms.map(({ cause, error_V, kind }) => [
      cause,
      fixed(error_V, 3),
      fixed(error_V / budget.slope_V_per_mm, 3),
      KIND_WORDS[kind],
    ]),
  );
  const sum = ({ worst_V, worst_percent, worst_mm, likely_mm }: DataSheet['budget']['wander']) =>
    `${V(worst_V)}, ${fixed(worst_percent, 2)} %, ${fixed(worst_mm, 3)} mm at worst; ${fixed(likely_mm, 3)} mm in 95 of 100`;
  page.pairs([
    ['uncalibrated', sum(budget.uncalibrated)],
    ['calibrated', sum(budget.calibrated)],
    ['wander', `${sum(budget.wander)} (steps and drift)`],
  ]);
}

const KIND_WORDS = {
  fixed: 'taken out by calibration',
  drift: 'drift',
  step: 'steps',
  linearity: 'linearity',
  meter: 'calibration',
} as const;

function filter(page: Page, { filter: found, sampling }: DataSheet): void {
  const percent = (share: number) => `${fixed(100 * share, 1)} %`;
  page.heading('Filter and converter').pairs([
    [
      'time constant',
      `${fixed(found.rc_ms, 3)} ms (${fixed(found.least_rc_ms, 2)} to ${fixed(found.most_rc_ms, 2)}), corner ${fixed(found.corner_Hz, 0)} Hz`,
    ],
    ['delay', `${fixed(found.delay_ms, 3)} ms from arc to code; the box's mean over half a mains period comes on top`],
    ['phase', `${fixed(found.loop_phase_deg, 2)}° at ${fixed(found.loop_Hz, 1)} Hz, where the loop stops correcting`],
    [
      'leaves',
      `${percent(found.ripple_share)} of ${found.ripple_Hz} Hz, ${percent(found.inverter_share)} of ${found.inverter_kHz} kHz (assumed)`,
    ],
    ['after a jump', `${fixed(found.settle_ms, 2)} ms until within half a step`],
    [
      'sample',
      `needs ${fixed(sampling.needed_us, 3)} µs of its ${sampling.given_us} µs (a converter maker's equation, seen)`,
    ],
  ]);
}

function loads(page: Page, { stresses, touch }: DataSheet): void {
  page.heading('Loads at no load, and the worst single fault');
  const mW = (watts: number) => `${fixed(1000 * watts, 1)}`;
  page.table(
    {
      titles: ['part', 'V', 'of', 'mW', 'of', 'fault V', 'of', 'mW', 'of', 'fault'],
      sides: [left, right, right, right, right, right, right, right, right, left],
    },
    stresses.map((one) => [
      one.kept ? one.part : `${one.part} OVER`,
      fixed(one.volts, 1),
      fixed(one.allowed_V, 0),
      mW(one.watts),
      mW(one.allowed_W),
      fixed(one.fault_V, 1),
      fixed(one.rated_V, 0),
      mW(one.fault_W),
      mW(one.rated_W),
      one.fault,
    ]),
  );
  page.quiet(
    `In use ${100 * DERATING.power} % of the rated power and ${100 * DERATING.voltage} % of the working voltage are allowed (${sourceText(DERATING.source)}), under a fault all of it.`,
  );
  const mA = (value: number) => (Number.isFinite(value) ? `${fixed(value, 2)} mA` : 'NOT LIMITED');
  const mJ = (value: number) => `${Number(value.toPrecision(2))} mJ`;
  page.pairs([
    ['lead touched', `${mA(touch.lead_mA)}; ${mA(touch.fault_mA)} with one protective resistor shorted`],
    ['', `direct current is felt from about ${touch.felt_mA} mA (${sourceText(touch.felt_source)})`],
    ['leads shorted', mA(touch.shorted_mA)],
    [
      'stored in C1',
      `${mJ(touch.stored_mJ)}; ${mJ(touch.fault_stored_mJ)} with the lower resistor open, if nothing clamps`,
    ],
  ]);
}

function distances(page: Page, { distances: wanted }: DataSheet): void {
  page.heading('Distances wanted');
  if (wanted.length === 0) page.alarm('The no-load voltage is above the tables that are known here.');
  for (const where of new Set(wanted.map((one) => one.where))) {
    const here = wanted.filter((one) => one.where === where);
    page.say(`${where}, up to ${here[0].up_to_V} V:`);
    for (const source of new Set(here.map((one) => sourceText(one.source)))) {
      const rows = here.filter((one) => sourceText(one.source) === source);
      page.table(
        { titles: ['', ''], sides: [left, right] },
        rows.map(({ condition, mm }) => [`  ${condition}`, `${fixed(mm, 2)} mm`]),
      );
      page.quiet(`  ${source}`);
    }
  }
  page.quiet('Clearance across the barrier depends on the overvoltage category: no table for it is known here.');
}

/** The single-fault table: what a steady arc reads, and what came of a cut with the fault in it. */
function faultLines(page: Page, { trials, use, module_sha256, setup }: DividerReport): void {
  page.heading(`Single faults: what ${use.target_V} V of arc read, and what the box does`);
  page.table(
    { titles: ['fault', 'V', 'from power-up', 'during the cut'], sides: ['left', 'right', 'left', 'left'] },
    sameFaults(trials).map(({ names, trial: { fault, results } }) => [
      `${names} ${fault.failure}`,
      fixed(fault.reads_V, 0),
      ...results.map(resultText),
    ]),
  );
  page.quiet(
    `Tried by simulation: each fault at both moments in a straight cut, noise ${setup.world.noise.white_V_rms_per_tick} V rms a tick, ` +
      `through the control module ${module_sha256.slice(0, 12)}. Times are from the fault, or from the trigger when that came later. LATE: by then the torch had touched something or a requirement was broken. Harmless: not noticed, and the cut kept every requirement and met every quality goal; rougher: it kept every requirement and touched nothing, but missed a quality goal (± is what 99.9 % of the time stayed within).`,
  );
}

/** Equal parts that fail alike stand in one line. */
function sameFaults(trials: readonly FaultTrial[]): { readonly names: string; readonly trial: FaultTrial }[] {
  const groups = new Map<string, FaultTrial[]>();
  for (const trial of trials) {
    const { failure, effect, code } = trial.fault;
    const key = [failure, effect, code, ...trial.results.map(resultText)].join('\0');
    groups.set(key, [...(groups.get(key) ?? []), trial]);
  }
  return [...groups.values()].map((group) => {
    const names = group.map(({ fault }) => fault.part);
    const resistors = names.length > 2 && names.every((name) => /^R\d+$/.test(name));
    return { names: resistors ? `${names[0]}…${names.at(-1)}` : names.join(', '), trial: group[0] };
  });
}

function resultText({ verdict, fault, after_ms, permitted, moment, standoff_error_p999_mm }: TrialResult): string {
  const within = `±${fixed(standoff_error_p999_mm ?? Number.NaN, 2)} mm`;
  switch (verdict) {
    case 'noticed':
      return `${fault} ${after_ms} ms${moment === 'from power-up' && permitted ? ', motion permit given' : ''}`;
    case 'late':
      return `LATE: ${fault} ${after_ms} ms`;
    case 'harmless':
      return `harmless, ${within}`;
    case 'rougher':
      return `rougher, ${within}`;
    case 'unnoticed':
      return 'NOT NOTICED';
  }
}

/** What can be said of a ready-made divider, and what cannot. */
export function readyMadePage(sheet: ReadyMadeSheet, style: TerminalStyle): string {
  const { ratio, full_scale_V, headroom_percent, step_V, step_mm, input_mA, departure_percent } = sheet;
  const page = new Page(style);
  if (sheet.findings.length === 0)
    page.alarm('NOT KNOWN YET: nothing found speaks against it, and what is below is not known.');
  else page.alarm('It does not do as it is.');
  for (const finding of sheet.findings) page.alarm(`- ${finding}.`);
  page.heading('What can be said').pairs([
    [
      'ratio',
      `${fixed(ratio, 2)}${departure_percent === null ? '' : `; the pairs depart by ${fixed(departure_percent, 2)} % at most`}`,
    ],
    ['full scale', `${fixed(full_scale_V, 0)} V, ${fixed(headroom_percent, 0)} % above no load`],
    ['one step', `${fixed(step_V * 1000, 1)} mV of arc, ${fixed(step_mm, 4)} mm`],
    ['from its inputs', input_mA === null ? 'not known' : `${fixed(input_mA, 2)} mA at no load`],
  ]);
  page.heading('What cannot be known from that');
  for (const sentence of sheet.unknown) page.say(`- ${sentence}.`);
  page.heading('Cautions');
  for (const caution of HIGH_VOLTAGE_CAUTIONS) page.quiet(caution);
  return page.text();
}
