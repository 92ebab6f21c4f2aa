import { describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { caseAt, unitLayout } from '../../sim/campaign/case.js';
import { Deck, Draws, Effects } from '../../sim/campaign/draws.js';
import { CaseRunner, rangesAround, SHORT_CUTS, search } from '../../sim/campaign/index.js';
import { Ways } from '../../sim/campaign/search.js';
import { OPERATOR_LINES } from '../../sim/run/loop/index.js';
import { defaultSetup } from '../../sim/run/setup/index.js';

const setup = defaultSetup();
const ranges = rangesAround(setup);
const runner = () => new CaseRunner({ setup, ranges, programs: [SHORT_CUTS[0]], seed: 1 });

describe('a search', () => {
  it('gives the same for a seed, and the case with the margin that it tells', () => {
    const options = { requirement: 'no-contact', cuts: 60, seed: 1 };
    const found = search(runner(), ranges, options);
    expect(search(runner(), ranges, options)).toEqual(found);
    // It ends early only where the requirement breaks.
    expect(found.cuts).toBe(found.broken_at ?? 60);
    expect(found.broken_at !== null).toBe(found.margin! < 0);
    const requirement = runner()
      .judge(found.index, found.case!)
      .requirements.find(({ name }) => name === 'no-contact')!;
    expect(requirement.margin).toBe(found.margin);
  });

  it('without cuts has found nothing', () => {
    const result = search(runner(), ranges, { requirement: 'no-contact', cuts: 0, seed: 1 });
    expect(result).toMatchObject({ cuts: 0, broken_at: null, case: null, margin: null });
  });

  it('comes nearer to the sheet than as many cuts by chance', () => {
    // The sheet alone, with the arc as told: chance finds no contact there.
    const CUTS = 100;
    const numbers = ranges.numbers.filter(({ path }) => path.startsWith('world.sheet.'));
    const sheets = { ...ranges, numbers };
    const sheetRunner = () => new CaseRunner({ setup, ranges: sheets, programs: [SHORT_CUTS[0]], seed: 1 });
    const by_chance = sheetRunner();
    const margins = Array.from({ length: CUTS }, (_, index) => {
      const one = by_chance.caseOf(index);
      return {
        one,
        margin: by_chance.judge(index, one).requirements.find(({ name }) => name === 'no-contact')!.margin,
      };
    });
    // What no box could keep apart is not what is looked for.
    const least = margins
      .filter(
        ({ one, margin }) =>
          margin !== null && one.faults.length === 0 && !one.operator.some(({ line }) => line === 'hold'),
      )
      .reduce((smallest, { margin }) => Math.min(smallest, margin!), Number.POSITIVE_INFINITY);
    expect(least).toBeGreaterThan(0);
    expect(search(sheetRunner(), sheets, { requirement: 'no-contact', cuts: CUTS, seed: 1 }).margin).toBeLessThan(
      least,
    );
  });
});

describe('places that are drawn', () => {
  const moments = [[0.2, 0.4, 0.6]];
  const space = { setup, ranges, duration_s: 10 };
  const draws = (seed: number, some = ranges) => new Draws(new Random(seed), some, moments);

  it('are dealt: every fault near every moment before any comes again', () => {
    const drawn = draws(1);
    const dealt = new Set<string>();
    const cards = ranges.faults.length * 3;
    // Some of the cuts have an act of the operator alone.
    for (let count = 0; dealt.size < cards && count < 3 * cards; count++) {
      const { units, seed } = drawn.dealt();
      const [fault] = unitLayout(ranges).faults;
      if (units[fault.there] !== 0) continue;
      const [first] = caseAt(space, units, seed).faults;
      const nearest = moments[0].toSorted(
        (a, b) => Math.abs(a - units[fault.when]) - Math.abs(b - units[fault.when]),
      )[0];
      const card = `${first.kind} ${nearest}`;
      expect(dealt).not.toContain(card);
      dealt.add(card);
    }
    expect(dealt.size).toBe(cards);
  });

  it('have each act of the operator that the layout names', () => {
    const layout = unitLayout(ranges);
    const acts = Array.from({ length: layout.action_kinds }, (_, kind) => {
      const units = new Float64Array(layout.size).fill(1);
      units[layout.acting] = layout.actingFor(1);
      const [what, on] = layout.unitsOfAction(kind);
      units[layout.actions[0].what] = what;
      units[layout.actions[0].on] = on ?? 0.5;
      const { operator } = caseAt(space, units, 1);
      return operator.length === 1 ? `${operator[0].line} ${operator[0].on}` : 'the way out of a fault';
    });
    expect(new Set(acts).size).toBe(2 * OPERATOR_LINES.length + 1);
    expect(acts.at(-1)).toBe('the way out of a fault');
  });

  it('have no fault and no act where the ranges leave them out', () => {
    const none = { ...ranges, fault_chance: 0, second_fault_chance: 0, operator_chance: 0 };
    const drawn = draws(2, none);
    let start = { ...drawn.dealt(), moments: moments[0], lead: null };
    for (let count = 0; count < 50; count++) {
      for (const { units, seed } of [drawn.dealt(), drawn.leaning(), drawn.near(start, [start])]) {
        expect(caseAt({ ...space, ranges: none }, units, seed)).toMatchObject({ faults: [], operator: [] });
        expect(units.every((unit) => unit >= 0 && unit <= 1)).toBe(true);
        start = { ...start, units };
      }
    }
  });

  it('near another go the same way again, where that had helped', () => {
    const drawn = draws(3);
    const one = drawn.dealt();
    const lead = new Float64Array(one.units.length);
    const units = one.units.map(() => 0.5);
    lead[4] = -0.1;
    let again = 0;
    for (let count = 0; count < 400; count++) {
      const near = drawn.near({ ...one, units, moments: [], lead }, [one]);
      const others = near.units.every((unit, at) => at === 4 || unit === 0.5);
      if (others && near.units[4] < 0.49) again++;
    }
    expect(again).toBeGreaterThan(60);
  });
});

describe('what leads the search', () => {
  it('is the end of a quantity that goes with small margins, and neither end without a sign of it', () => {
    const random = new Random(4);
    const effects = new Effects(2);
    for (let count = 0; count < 200; count++) {
      const values = Float64Array.from([random.uniform(), random.uniform()]);
      effects.add(values, 5 - 4 * values[0] + random.uniform());
    }
    expect(effects.upperChance(0)).toBeGreaterThan(0.9);
    expect(Math.abs(effects.upperChance(1) - 0.5)).toBeLessThan(0.35);
    expect(new Effects(1).upperChance(0)).toBe(0.5);
  });

  it('is the way that has led on of late, while no way is given up', () => {
    const ways = new Ways(new Random(5), 3);
    for (let count = 0; count < 60; count++) ways.count(count % 3, count % 3 === 2);
    const chosen = [0, 0, 0];
    for (let count = 0; count < 1000; count++) chosen[ways.choose([0, 1, 2])]++;
    expect(chosen[2]).toBeGreaterThan(2 * chosen[0]);
    expect(Math.min(...chosen)).toBeGreaterThan(20);
  });

  it('comes from decks that deal each pair once', () => {
    const deck = new Deck(new Random(6), 5, 4);
    const round = () => new Set(Array.from({ length: 20 }, () => deck.next().join())).size;
    expect([round(), round()]).toEqual([20, 20]);
  });
});
