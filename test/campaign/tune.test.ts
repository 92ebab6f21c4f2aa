import { describe, expect, it } from 'vitest';
import { CAUSES, changeRanges, mapCampaign, runTune, type Tuning, tuneParameters } from '../../sim/campaign/index.js';
import { rangesAround, withoutCause } from '../../sim/campaign/ranges.js';
import { compare, scoreOf, type TrialCut } from '../../sim/campaign/trial.js';
import { compass, conclude, roomAt } from '../../sim/campaign/tune.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { SHORT_CUT } from '../commands/command.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const programs = [{ name: 'short.nc', text: SHORT_CUT }];
const campaign = mapCampaign({ setup, programs, seed: 1 });

const cut = (error_mm: number, changes: Partial<TrialCut> = {}): TrialCut => ({
  stop: null,
  broken: [],
  error_mm,
  least_standoff_mm: 1.2,
  goals_met: false,
  ...changes,
});
const cuts = (count: number, error_mm: (at: number) => number, changes: Partial<TrialCut> = {}) =>
  Array.from({ length: count }, (_, at) => cut(error_mm(at), changes));
const uneven = (at: number) => 0.1 + ((at * 7) % 40) / 100;

describe('the search', () => {
  /** A bowl with its least at these steps, and no bottom outside the walls. */
  const bowl = (least: readonly number[], wall = 9) => {
    const asked: string[] = [];
    const scores = async (points: readonly (readonly number[])[]) =>
      points.map((point) => {
        asked.push(String(point));
        if (point.some((steps) => Math.abs(steps) > wall)) return Number.POSITIVE_INFINITY;
        const high = (at: readonly number[]) => at.reduce((sum, steps, axis) => sum + (steps - least[axis]) ** 2, 0);
        return (high(point) - high(least.map(() => 0))) / 100;
      });
    return { asked, scores };
  };

  it.each([[[3]], [[-2, 3]], [[2, 0, -3]], [[1, -1, 1, 1]]])('finds the least of a bowl at %s', async (least) => {
    const { scores } = bowl(least);
    expect((await compass(least.length, scores)).best).toEqual(least);
  });

  it('stays where nothing is better, tries nothing twice, and counts what it tried', async () => {
    const { asked, scores } = bowl([0, 0]);
    expect(await compass(2, scores)).toEqual({ best: [0, 0], points: 9 });
    expect(new Set(asked).size).toBe(asked.length);
  });

  it('does not leave the walls, and ends after so many points however far the least lies', async () => {
    expect((await compass(1, bowl([8], 4).scores)).best).toEqual([4]);
    const { asked, scores } = bowl([40, 40, 40, 40], 99);
    const { points } = await compass(4, scores);
    expect([points, asked.length]).toEqual([24, 23]);
  });
});

describe('a comparison over the same cuts', () => {
  it('sees a difference that all cuts have, with its interval, and none between equal ones', () => {
    const before = cuts(40, uneven);
    const better = compare(
      before,
      cuts(40, (at) => 0.8 * uneven(at)),
    ).error_mm!;
    expect(better.verdict).toBe('better');
    expect(better.after / better.before).toBeCloseTo(0.8);
    expect(better.low).toBeLessThan(better.after - better.before);
    expect([better.high < 0, better.high > better.after - better.before]).toEqual([true, true]);
    const worse = compare(before, cuts(40, uneven, { least_standoff_mm: 1 }));
    expect([worse.error_mm!.verdict, worse.least_standoff_mm!.verdict, worse.finished.verdict]).toEqual([
      'chance',
      'worse',
      'chance',
    ]);
  });

  it('counts only cuts that finish with both in an error, and says nothing from a few', () => {
    const before = cuts(40, uneven);
    const stopped = before.map((one, at) => (at < 10 ? { ...one, stop: 'wrong-way', error_mm: 9 } : one));
    const { error_mm, finished } = compare(before, stopped);
    expect([error_mm!.verdict, finished.verdict, finished.after]).toEqual(['chance', 'worse', 0.75]);
    expect(compare(cuts(11, uneven), cuts(11, uneven)).error_mm).toBeNull();
  });

  it('seldom calls chance a difference, in tails of four cuts too', () => {
    let seed = 1;
    const chance = () => {
      seed = (seed * 48271) % 2147483647;
      return seed / 2147483647;
    };
    let called = 0;
    for (let repeat = 0; repeat < 100; repeat++) {
      const tail = () => 0.1 / (0.05 + chance());
      const { error_mm } = compare(cuts(16, tail), cuts(16, tail));
      if (error_mm!.verdict !== 'chance') called++;
    }
    // 1.7 in 100 are allowed by the confidence; six of 100 would be called then once in two hundred times.
    expect(called).toBeLessThan(6);
  });

  it('weighs error, least standoff, ends and broken requirements in one score', () => {
    const present = cuts(20, uneven);
    const score = (tried: readonly TrialCut[]) => scoreOf(present, tried, 1.5);
    expect(score(present)).toBe(0);
    expect(score(cuts(20, (at) => uneven(at) / 2))).toBeCloseTo(Math.log(0.5));
    expect(score(cuts(20, uneven, { least_standoff_mm: 1.05 }))).toBeCloseTo(0.1);
    expect(score(present.map((one, at) => (at === 0 ? { ...one, stop: 'travel' } : one)))).toBeGreaterThan(0);
    expect(score([cut(0.1, { broken: ['floor'] }), ...present.slice(1)])).toBeGreaterThan(5);
  });
});

describe('what may be said', () => {
  const before = cuts(40, uneven, { goals_met: true });
  const better = cuts(40, (at) => 0.7 * uneven(at));
  const room = { name: 'gain_p_per_s', value: 20, lacks: null, ratio: 1 } as const;
  const word = (
    gained: number | null,
    after: readonly TrialCut[],
    lacks: Tuning['neighbours'][number]['lacks'] = null,
  ) => conclude(gained, after, compare(before, after), [room, { ...room, lacks }]);

  it('proposes only what is better beyond chance, in all, breaks nothing, and has room', () => {
    expect(word(0.3, better)).toBe('proposed');
    expect(word(0.3, better, 'error')).toBe('no-room');
    expect(word(-0.1, better)).toBe('chance');
    expect(word(0.3, before)).toBe('chance');
    expect(word(null, before)).toBe('nothing-better');
    expect(word(0.3, [cut(0.1, { broken: ['no-contact'] }), ...better.slice(1)])).toBe('broken');
    expect(
      word(
        0.3,
        cuts(40, (at) => 0.7 * uneven(at), { least_standoff_mm: 0.9 }),
      ),
    ).toBe('worse');
    expect(word(0.3, cuts(40, uneven, { stop: 'travel' }))).toBe('few-finished');
  });

  it('finds no room where a requirement breaks, more cuts stop, the error grows or the goals go', () => {
    expect(roomAt(before, before)).toEqual({ lacks: null, ratio: 1 });
    expect(roomAt(before, [cut(0.1, { broken: ['floor'] }), ...before.slice(1)]).lacks).toBe('broken');
    expect(roomAt(before, cuts(40, uneven, { goals_met: true, stop: 'travel' })).lacks).toBe('stops');
    expect(
      roomAt(
        before,
        cuts(40, (at) => 1.3 * uneven(at), { goals_met: true }),
      ).lacks,
    ).toBe('error');
    expect(roomAt(before, cuts(40, uneven)).lacks).toBe('goals');
  });
});

describe('what is tuned', () => {
  it.each([
    [['gain_p_per_s', 'box.gain_p_per_s'], 'tune-same'],
    [['strike_retries'], 'tune-whole'],
    [['gain_d=0:1'], 'tune-range'],
    [['gain_p_per_s=30:60'], 'tune-range'],
    [['world.sheet.wave_mm'], 'tune-elsewhere'],
    [['gain_q'], 'tune-unknown'],
    [['gain_p_per_s', 'gain_i_per_s2', 'smoothing_ms', 'settle_ms', 'pierce_ms'], 'tune-many'],
  ])('%s is refused', (words, code) => {
    expect(thrownBy(() => tuneParameters(words, campaign)).code).toBe(code);
  });

  it('has causes whose every number is drawn, and takes one out without touching another', () => {
    const ranges = rangesAround(setup);
    for (const cause of CAUSES) {
      const values = cause.values(setup.box);
      const without = withoutCause(ranges, cause, setup.box);
      for (const [at, range] of ranges.numbers.entries()) {
        const left = values[range.path];
        expect(without.numbers[at]).toEqual(left === undefined ? range : { ...range, low: left, high: left });
      }
      const drawn = ranges.numbers.map(({ path }) => path);
      expect(
        Object.keys(values).filter((path) => !drawn.includes(path)),
        cause.name,
      ).toEqual([]);
    }
  });
});

// The threads load the compiled simulator: what ships is what is tested.
describe('a tuning', () => {
  const options = (word: string, changes: Readonly<Record<string, number>> = {}, given = campaign) => {
    const changed = { ...given, setup: { ...setup, box: { ...setup.box, ...changes } } };
    const parameters = tuneParameters([word], changed);
    return { campaign: changed, parameters, cuts: 14, signal: new AbortController().signal, onProgress: () => {} };
  };

  it('mends a gain that is far too low, and gives the same with any number of threads', async () => {
    const range = ['wave_mm=1:1', 'wave_length_mm=150:150', 'wave_direction_deg=0:0'].map(
      (word) => `world.sheet.${word}`,
    );
    const wavy = { ...campaign, ranges: changeRanges(campaign.ranges, setup, range) };
    // With 14 cuts the error of the worst quarter is within chance.
    const low = { ...options('gain_p_per_s', { gain_p_per_s: 4, gain_i_per_s2: 5 }, wavy), cuts: 24 };
    const found = await runTune({ ...low, workers: 2 });
    expect(found.conclusion).toBe('proposed');
    expect(found.parameters[0].found).toBeGreaterThan(6);
    expect(found.comparison.error_mm!.verdict).toBe('better');
    expect(found.neighbours.map(({ lacks }) => lacks)).toEqual([null, null]);
    expect(await runTune({ ...low, workers: 1 })).toEqual(found);
  });

  it('finds nothing in a parameter without effect: every set cuts the same worlds', async () => {
    const found = await runTune({ ...options('learn_ms'), workers: 2 });
    expect([found.conclusion, found.parameters[0].found]).toEqual(['nothing-better', 200]);
    expect([found.found, found.neighbours]).toEqual([found.present, []]);
  });

  it('ends at once when it is broken off', async () => {
    const stop = new AbortController();
    const onProgress = () => stop.abort();
    await expect(
      runTune({ ...options('gain_p_per_s'), workers: 1, signal: stop.signal, onProgress }),
    ).rejects.toThrow();
  });
});
