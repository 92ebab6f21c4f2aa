import { type Broken, type ExploreResult, INVARIANTS, NOT_REACHED } from '../../explore/index.js';
import { counted, wrapText } from '../../views/text/index.js';

/** A rule was broken, the guard let something through, or something that the box must be able to do never came about. */
export const anythingFound = (results: readonly ExploreResult[]): boolean =>
  results.some(({ violations, guard }) => violations.length > 0 || guard.broken.length > 0) ||
  neverReached(results).some((word) => NOT_REACHED[word] === undefined);

/** What no kind of box came to, as kind and name. */
function neverReached(results: readonly ExploreResult[]): string[] {
  const all = results.flatMap(({ reached }) =>
    reached.map(({ kind, name, ticks }) => ({ word: `${kind} ${name}`, ticks })),
  );
  const reached = new Set(all.filter(({ ticks }) => ticks !== null).map(({ word }) => word));
  return [...new Set(all.map(({ word }) => word))].filter((word) => !reached.has(word));
}

/** Each broken rule once, from the kind of box in which its counterexample was confirmed, and the kinds in which it was broken. */
function brokenRules(results: readonly ExploreResult[]) {
  const rules = new Map<string, { broken: Broken; kinds: ExploreResult[] }>();
  for (const result of results) {
    for (const broken of result.violations) {
      const known = rules.get(broken.invariant);
      if (known === undefined) rules.set(broken.invariant, { broken, kinds: [result] });
      else {
        known.kinds.push(result);
        if (known.broken.replay.broken === null && broken.replay.broken !== null) known.broken = broken;
      }
    }
  }
  return [...rules.values()];
}

const kindText = ({ supply_contact, target_learned }: ExploreResult): string =>
  `${supply_contact ? 'with' : 'without'} the supply’s contact, with a ${target_learned ? 'learned' : 'fixed'} target`;

const sum = (results: readonly ExploreResult[], of: (result: ExploreResult) => number) =>
  results.reduce((total, result) => total + of(result), 0);
const millions = (count: number) => (count / 1e6).toFixed(1);

/** What was explored and what was found, for a person. @param used time by the clock, and the most memory */
export function exploreText(
  results: readonly ExploreResult[],
  { wall_ms, memory_MB }: { readonly wall_ms: number; readonly memory_MB: number },
  columns: number,
): string {
  const lines: string[] = [];
  const say = (text: string, indent = 2) => lines.push(...wrapText(text, columns, indent));
  const transitions = sum(results, (result) => result.transitions);
  const a_second = transitions / (sum(results, ({ time_ms }) => time_ms) / 1000);
  const rules = brokenRules(results);
  say(
    `${sum(results, ({ states }) => states)} states, ${millions(transitions)} million ticks of the module in ${(wall_ms / 1000).toFixed(1)} s ` +
      `(${millions(a_second)} million a second and thread, ${memory_MB} MB of memory): ${
        rules.length === 0
          ? `each of ${INVARIANTS.length} rules held in every tick`
          : `${counted(rules.length, 'RULE', 'RULES')} OF ${INVARIANTS.length} BROKEN`
      }.`,
  );
  for (const { broken, kinds } of rules) {
    lines.push('');
    say(`BROKEN: ${broken.invariant}: ${broken.statement}.`);
    if (kinds.length < results.length) say(`Only ${kinds.map(kindText).join('; ')}.`);
    broken.counterexample.forEach((step, index) => {
      say(`${index + 1}. ${step.happens} -> ${step.box}`, 4);
    });
    say(replayText(broken));
  }
  lines.push('');
  guardText(results, say);
  lines.push('');
  reachText(results, say);
  lines.push('');
  coverText(say);
  return `${lines.join('\n')}\n`;
}

function replayText({ invariant, counterexample, replay }: Broken): string {
  const start = 'Replayed from power-up with true timers:';
  if (replay.broken !== null) {
    const rule = replay.broken === invariant ? 'the rule' : `the rule ${replay.broken}`;
    return `${start} confirmed, ${rule} breaks after ${counted(replay.ticks, 'tick')} of 1 ms.`;
  }
  if (replay.steps === counterexample.length) {
    return (
      `${start} not confirmed. All steps came about, but the rule held. Either it takes another timing than those that were ` +
      'tried, or it happens only because the walk lets timers, voltages and heights be anything at any moment.'
    );
  }
  return (
    `${start} not confirmed. Step ${replay.steps + 1} did not come about: in none of the timings that were tried does the ` +
    'real sequence of voltages and heights lead there. The walk lets them be anything at any moment.'
  );
}

function guardText(results: readonly ExploreResult[], say: (text: string) => void): void {
  const broken = [...new Set(results.flatMap(({ guard }) => guard.broken))];
  const states = sum(results, ({ guard }) => guard.states);
  const ticks = sum(results, ({ guard }) => guard.transitions);
  const tried = `The guard, which has the last word on trigger, motion permit and steps, was also tried alone: ${millions(ticks)} million ticks from ${states} made-up states, as if the sequence had gone wrong.`;
  say(
    broken.length === 0
      ? `${tried} Nothing got past it.`
      : `${tried} BROKEN: ${broken.map((name) => `${name}: ${INVARIANTS.find((one) => one.name === name)?.statement}`).join('; ')}.`,
  );
}

function reachText(results: readonly ExploreResult[], say: (text: string) => void): void {
  const missing = neverReached(results);
  const lost = missing.filter((word) => NOT_REACHED[word] === undefined);
  for (const word of lost) {
    say(`NEVER REACHED: ${word}. Nothing that can happen leads there; in the module as shipped something does.`);
  }
  const known = missing.filter((word) => NOT_REACHED[word] !== undefined);
  if (lost.length === 0) {
    say(`Reached: every mode, stage, hold, fault and refusal${known.length === 0 ? '' : ` but ${known.join(', ')}`}.`);
  }
  for (const word of known) say(`${word}: ${lost.length === 0 ? '' : 'not reached either: '}${NOT_REACHED[word]}.`);
}

function coverText(say: (text: string) => void): void {
  say('What was tried, in every state and in every combination that a tick comes to read:');
  for (const tried of [
    'key, request, stop chain, reset, late ticks, outputs that are to rest, readback of the firing contact, torch in or out of its holder, top, touch-off and hold switch, supply’s contact',
    'every timer just begun and run out, so lengths that the box does not even have are covered; switches that chatter for any time',
    'eight kinds of arc voltage, from negative over the arc window to the top of the converter, each steady before the tick',
    'Z still, rising and sinking, at every height that the sequence asks about and at its bounds',
    'X and Y at rest, at the feed of the cut, and slower',
    'with and without the supply’s contact, with a fixed and a learned target',
  ]) {
    say(`- ${tried}`);
  }
  say(
    'Not tried: other parameters than those that the box comes with, noise and ripple on the voltage, how well the standoff is held, ' +
      'and everything outside the control module.',
  );
}
