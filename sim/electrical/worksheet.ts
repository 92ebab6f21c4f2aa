// Which conductor is which, from pairs measured with the plug pulled: for a supply whose maker shows it nowhere.
import { StandoffError } from '../base/index.js';

/** Points that can be told by looking: everything else is a conductor with a name of the owner's own. */
export const KNOWN_POINTS = ['electrode', 'nozzle', 'clamp', 'earth'] as const;
/** One of them. */
export type KnownPoint = (typeof KNOWN_POINTS)[number];

/** What a meter said between two points. */
export interface MeasuredPair {
  readonly one: string;
  readonly other: string;
  /** The torch's own trigger was pressed while it was measured. */
  readonly pressed: boolean;
  readonly beeps: boolean;
  /** Amount of the voltage between the two, with the plug pulled, V. */
  readonly volts: number;
  /** File and line. */
  readonly place: string;
}

/** What the pairs say. */
export interface Worksheet {
  /** Names of the conductors that are one with the torch's electrode; with the work clamp; and the trigger's pairs. */
  readonly electrode: readonly string[];
  readonly work: readonly string[];
  readonly trigger: readonly (readonly [string, string])[];
  /** What cannot be, or must not be; one sentence each. */
  readonly contradictions: readonly string[];
  /** What is still to be measured; one sentence each. */
  readonly open: readonly string[];
}

/** From this on a pair with the plug pulled is not dead, V; assumption, well below what hurts. */
export const DEAD_V = 2;

const HEAD = ['one', 'other', 'trigger', 'meter', 'volts'];

/** A worksheet to be filled in. */
export const BLANK_WORKSHEET = `# Plug pulled, the wait on the supply's warning over, the meter proved before and after. One pair of points a line.
# Points to be told by looking: ${KNOWN_POINTS.join(', ')}. Give every other conductor a name, such as pin3.
# trigger: released or pressed (the torch's own). meter: beep or open. volts: what the meter shows between the two, DC.
${HEAD.join(',')}
electrode,clamp,released,,
electrode,pin1,released,,
clamp,pin1,released,,
electrode,earth,released,,
clamp,earth,released,,
pin1,pin2,released,,
pin1,pin2,pressed,,
`;

/**
 * Reads a worksheet; lines that begin with # are left out, and so are lines whose meter is not filled in.
 * @throws StandoffError `worksheet-…` with file and line
 */
export function readWorksheet(text: string, file: string): MeasuredPair[] {
  const lines = text
    .split(/\r?\n/)
    .map((content, at) => ({ cells: content.split(',').map((cell) => cell.trim()), place: `${file}:${at + 1}` }))
    .filter(({ cells }) => cells.join('') !== '' && !cells[0]!.startsWith('#'));
  const [head, ...rows] = lines;
  if (head?.cells.join() !== HEAD.join()) {
    const what = `${head?.place ?? file}: the heading is ${head?.cells.join() ?? 'missing'}`;
    throw new StandoffError(
      'worksheet-head',
      what,
      `it must be ${HEAD.join()}; standoff supply --worksheet prints a blank one`,
    );
  }
  const pairs = rows
    .filter(({ cells }) => cells.slice(3).join('') !== '')
    .map(({ cells, place }) => pairOf(cells, place));
  if (pairs.length > 0) return pairs;
  throw new StandoffError(
    'worksheet-empty',
    `no pair of ${file} is filled in`,
    'write beep or open in the column meter',
  );
}

function pairOf(cells: readonly string[], place: string): MeasuredPair {
  const [one = '', other = '', trigger = '', meter = '', volts = ''] = cells;
  const fail = (what: string, remedy: string): never => {
    throw new StandoffError('worksheet-cell', `${place}: ${what}`, remedy);
  };
  if (cells.length !== HEAD.length) fail(`${cells.length} values`, `write ${HEAD.length}: ${HEAD.join()}`);
  if (one === '' || other === '' || one === other) fail(`${one},${other} is no pair`, 'name two different points');
  if (!['released', 'pressed'].includes(trigger)) fail(`trigger is ${trigger || 'empty'}`, 'write released or pressed');
  if (!['beep', 'open'].includes(meter)) fail(`meter is ${meter || 'empty'}`, 'write beep or open');
  const amount = volts === '' ? 0 : Math.abs(Number(volts.replace(/ *V$/, '') || Number.NaN));
  if (Number.isNaN(amount)) fail(`volts is ${volts}`, 'write a number in volts, such as 0.2, or leave it empty');
  return { one, other, pressed: trigger === 'pressed', beeps: meter === 'beep', volts: amount, place };
}

/** Points that are one metal, by the beeps with the trigger released. */
class Groups {
  private readonly parent = new Map<string, string>();

  of(point: string): string {
    const above = this.parent.get(point);
    return above === undefined ? point : this.of(above);
  }

  join(one: string, other: string): void {
    const [a, b] = [this.of(one), this.of(other)];
    if (a !== b) this.parent.set(a, b);
  }
}

/** What the pairs say of electrode, work and trigger, and where they contradict each other. */
export function deriveWorksheet(pairs: readonly MeasuredPair[]): Worksheet {
  const groups = new Groups();
  for (const { one, other, pressed, beeps } of pairs) if (beeps && !pressed) groups.join(one, other);
  const names = [...new Set(pairs.flatMap(({ one, other }) => [one, other]))];
  const conductors = names.filter((name) => !isKnown(name));
  const oneWith = (point: KnownPoint) => conductors.filter((name) => groups.of(name) === groups.of(point));
  const electrode = oneWith('electrode');
  const work = oneWith('clamp');
  const trigger = triggerPairs(pairs);
  const contradictions = [
    ...live(pairs),
    ...against(pairs, groups),
    ...shorts(groups, names),
    ...trigger.flatMap((pair) => triggerTouches(pair, groups)),
  ];
  return { electrode, work, trigger, contradictions, open: stillOpen(pairs, electrode, work, trigger) };
}

const isKnown = (name: string): name is KnownPoint => (KNOWN_POINTS as readonly string[]).includes(name);

const live = (pairs: readonly MeasuredPair[]) =>
  pairs
    .filter(({ volts }) => volts >= DEAD_V)
    .map(
      ({ one, other, volts, place }) =>
        `${place}: ${volts} V between ${one} and ${other} with the plug pulled: it is not dead. Stop, wait, prove the meter, and measure again; a beep counts for nothing there`,
    );

/** A pair that is open although other pairs make the two one metal. */
const against = (pairs: readonly MeasuredPair[], groups: Groups) =>
  pairs
    .filter(({ one, other, beeps, pressed }) => !beeps && !pressed && groups.of(one) === groups.of(other))
    .map(
      ({ one, other, place }) =>
        `${place}: ${one} and ${other} are open, but other pairs that beep make them one: measure those again`,
    );

/** Known points that must not be one metal. The nozzle touches the electrode in a torch that starts by contact. */
const NEVER_ONE: readonly (readonly [KnownPoint, KnownPoint, string])[] = [
  ['electrode', 'clamp', 'the torch touches the work, or a part between them is shorted'],
  ['nozzle', 'clamp', 'the nozzle touches the work'],
  ['electrode', 'earth', 'the negative side is earthed: the divider and its barrier are not made for that'],
];

const shorts = (groups: Groups, names: readonly string[]) =>
  NEVER_ONE.filter(
    ([one, other]) => names.includes(one) && names.includes(other) && groups.of(one) === groups.of(other),
  ).map(([one, other, why]) => `${one} and ${other} are one: ${why}`);

/** Pairs that are open with the trigger released and beep with it pressed. */
function triggerPairs(pairs: readonly MeasuredPair[]): [string, string][] {
  const key = ({ one, other }: MeasuredPair) => [one, other].sort().join('\n');
  const released = new Set(pairs.filter(({ pressed, beeps }) => !pressed && !beeps).map(key));
  const found = pairs.filter((pair) => pair.pressed && pair.beeps && released.has(key(pair))).map(key);
  return [...new Set(found)].map((both) => both.split('\n') as [string, string]);
}

function triggerTouches(pair: readonly [string, string], groups: Groups): string[] {
  return pair.flatMap((name) =>
    KNOWN_POINTS.filter((point) => groups.of(name) === groups.of(point)).map(
      (point) =>
        `${name} belongs to the trigger and is one with ${point}: the trigger circuit is not apart from the arc, and the firing contact must not be wired there`,
    ),
  );
}

function stillOpen(
  pairs: readonly MeasuredPair[],
  electrode: readonly string[],
  work: readonly string[],
  trigger: readonly (readonly [string, string])[],
): string[] {
  const measured = (one: string, other: string) =>
    pairs.some((pair) => [one, other].every((name) => name === pair.one || name === pair.other));
  const wanted = [
    ['electrode', 'clamp'],
    ['electrode', 'earth'],
    ['clamp', 'earth'],
  ] as const;
  return [
    ...wanted.filter(([one, other]) => !measured(one, other)).map(([one, other]) => `measure ${one} against ${other}`),
    ...(electrode.length === 0 ? ['no conductor beeps to the electrode: measure the others against it'] : []),
    ...(work.length === 0 ? ['no conductor beeps to the clamp: measure the others against it'] : []),
    ...(trigger.length === 0
      ? ['no pair is open with the trigger released and beeps with it pressed: measure each pair both ways']
      : []),
  ];
}
