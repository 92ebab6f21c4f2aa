import { PARAMETER_ROWS, type ParameterName } from '../../../firmware/wire/parameter-rows.js';
import {
  DEFAULT_MACHINE,
  DEFAULT_WORLD,
  type Fault,
  type MachineConfig,
  type Row,
  type WorldConfig,
} from '../../world/plant/index.js';
import { refuseBox } from './contradictions.js';
import { type Path, SourceDocument } from './document.js';
import { failFirst, quantityProblem } from './problems.js';
import { faultRows, ROWS_BY_PATH, readQuantity, SECTION_NAMES, setupSchema } from './schema.js';

/** Every parameter of the box by name, in the unit of its row. */
export type Box = Readonly<Record<ParameterName, number>>;

/** A box, the machine it sits on and the assumed world, complete with defaults. */
export interface Setup {
  readonly box: Box;
  readonly machine: MachineConfig;
  readonly world: WorldConfig;
}

/** Everything as the rows give it. */
export function defaultSetup(): Setup {
  const box = Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default])) as Box;
  return { box, machine: structuredClone(DEFAULT_MACHINE), world: structuredClone(DEFAULT_WORLD) };
}

/**
 * Reads a setup file: YAML with the sections box, machine and world. What is left out keeps its default.
 * @param file its name, for messages
 * @throws StandoffError `setup-…` with file, line and column, the value, its range with unit, and a remedy
 */
export function readSetup(text: string, file: string): Setup {
  const document = new SourceDocument(text, file, 'setup');
  const value = resolveQuantities(document, 0);
  const read = setupSchema.safeParse(value);
  if (!read.success) failFirst(document, read.error.issues, (path) => rowAt(document, path, 0), 0);
  const setup = completeSetup(read.data as Partial<Nested>);
  refuseBox(setup.box, (paths) => laterPlace(document, [], paths));
  return setup;
}

/** Paths of the values that a setup states itself, such as `machine.supply.breaker_A`; the others are defaults. @throws as readSetup */
export function statedPaths(text: string, file: string): ReadonlySet<string> {
  const document = new SourceDocument(text, file, 'setup');
  return new Set(
    [...ROWS_BY_PATH.keys()].filter((path) => (valueAt(document.value, path.split('.')) ?? null) !== null),
  );
}

/** The place of whichever of these values stands last in the file, ready to be put in front of a sentence. */
export function laterPlace(document: SourceDocument, parent: Path, values: readonly string[]): string {
  const paths = values.map((path) => [...parent, ...path.split('.')]);
  const later = paths.reduce((last, next) => (document.offset(next) > document.offset(last) ? next : last));
  return document.offset(later) < 0 ? '' : `${document.place(later)}: `;
}

type Values = Record<string, unknown>;
type Nested = Record<'box' | 'machine' | 'world', Values>;

/** Fills in defaults. @param stated values that passed the schema */
export function completeSetup(stated: Partial<Nested>): Setup {
  const setup = defaultSetup() as unknown as Nested;
  for (const section of SECTION_NAMES) {
    for (const [key, value] of Object.entries(stated[section] ?? {})) {
      const group = setup[section][key];
      const nested = typeof value === 'object' && !Array.isArray(value);
      setup[section][key] = nested ? { ...(group as Values), ...(value as Values) } : value;
    }
  }
  return setup as unknown as Setup;
}

/** The row of a value; `depth` words of the path lie above the sections. */
export function rowAt(document: SourceDocument, path: Path, depth: number): Row | undefined {
  const inner = path.slice(depth);
  if (inner[0] === 'world' && inner[1] === 'faults' && inner.length === 4) {
    const faults = valueAt(document.value, path.slice(0, -2)) as Fault[];
    return faultRows(String(faults[Number(inner[2])]?.kind))[String(inner[3])];
  }
  return ROWS_BY_PATH.get(inner.join('.'));
}

const valueAt = (value: unknown, path: Path): unknown =>
  path.reduce<unknown>((inside, word) => (inside as Record<string | number, unknown> | undefined)?.[word], value);

/**
 * The values of a document with `4 V/mm` read as 4; empty sections and groups left out.
 * @throws StandoffError for a unit that does not fit
 */
export function resolveQuantities(
  document: SourceDocument,
  depth: number,
  extra: (path: Path) => Row | undefined = () => undefined,
): unknown {
  const resolve = (value: unknown, path: Path): unknown => {
    const row = extra(path) ?? rowAt(document, path, depth);
    if (typeof value === 'string') return row && row.kind !== 'boolean' ? numberAt(document, path, row, value) : value;
    if (Array.isArray(value)) return value.map((item, index) => resolve(item, [...path, index]));
    if (value === null || typeof value !== 'object') return value;
    const kept = Object.entries(value).filter(([key, item]) => item !== null || !isEmptyGroup([...path, key], depth));
    return Object.fromEntries(kept.map(([key, item]) => [key, resolve(item, [...path, key])]));
  };
  return resolve(document.value, []);
}

function numberAt(document: SourceDocument, path: Path, row: Row, text: string): number {
  const found = readQuantity(text, row);
  if (found.kind === 'number') return found.value;
  const { code, what, remedy } = quantityProblem(row, document.quote(path), found);
  document.fail(code, document.place(path), what, remedy);
}

/** A section, or a group in it, with nothing under it: as good as left out. */
function isEmptyGroup(path: Path, depth: number): boolean {
  const name = path.slice(depth).join('.');
  if (name === '' || name === 'world.faults') return true;
  return [...ROWS_BY_PATH.keys()].some((known) => known.startsWith(`${name}.`));
}

/** Name of the example setup in messages. */
const EXAMPLE_SETUP_NAME = 'example setup';

/** The setup of the example cut: invented, as is the program that goes with it. */
export const EXAMPLE_SETUP = `# Hinge plates for a garden gate, 3 mm mild steel. An invented example: no such
# table, supply or sheet exists. What is left out keeps its default; a number may
# be written with its unit. 'standoff schema' lists every key for your editor.

# What is stored in the box.
box:
  cut_height_mm: 1.5
  pierce_ms: 500 ms
  target_V: 118 V            # the voltage at cut_height_mm, at target_feed_mm_s
  target_feed_mm_s: 50       # 3000 mm/min
  arc_slope_V_per_mm: 4 V/mm # what one millimetre of standoff is worth

# What a rule, a meter and the plates on the machine tell.
machine:
  divider:                   # as 'standoff divider' proposes it
    top_resistors: 4         # in series, two in each lead, at the tap
    top_kohm: 301 kohm
    bottom_kohm: 10.2 kohm
    capacitor_nF: 47 nF
    ratio: 120               # what these make: 120 V of arc are 1 V at the tap
    rc_ms: 0.472 ms
  supply:
    rated_A: 40 A
    cut_A: 40 A
    duty_percent: 60 %
  table:
    sheet_width_mm: 600
    sheet_height_mm: 400
    sheet_thickness_mm: 3

# What is only assumed: every number below is a guess until a cut is measured.
world:
  sheet:                     # it leans, it is wavy, and it grows with heat
    tilt_x: 0.02
    wave_mm: 2.5
    wave_length_mm: 250
    heat_growth_mm_per_s: 0.03
  arc:
    slope_V_per_mm: 4
    feed_effect_V: 8         # the voltage rises when the table slows down
    crossing_V: 25           # and jumps where the path meets an earlier cut
  noise:
    white_V_rms_per_tick: 1
    ripple_V_peak: 2
  faults: []                 # such as: { kind: open-lead, at_s: 12 }
`;

/** The example, read. */
export const exampleSetup = (): Setup => readSetup(EXAMPLE_SETUP, EXAMPLE_SETUP_NAME);
