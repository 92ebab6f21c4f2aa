import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { FAULT_NOT_FINITE, MODE_FAULT, REFUSAL_PARAMETERS } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  OUTPUT_FAULT,
  OUTPUT_MODE,
  OUTPUT_REFUSAL,
} from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { REGULATOR_AT, RING_AT } from '../../firmware/wire/state-fields.gen.js';
import { Random } from '../../sim/base/index.js';
import { rowOf } from '../../sim/explore/choices.js';
import { counterexampleTo } from '../../sim/explore/counterexample.js';
import { ALL_DIRECTIONS, CONTACT } from '../../sim/explore/directions.js';
import { explore, modeGraph, NOT_REACHED, reached } from '../../sim/explore/explorer.js';
import { brokenBy } from '../../sim/explore/facts.js';
import { INVARIANTS } from '../../sim/explore/invariants.js';
import { fieldOf, fits } from '../../sim/explore/key.js';
import { controllerOf, factsOf, KINDS, TickRunner } from '../../sim/explore/ticks.js';
import { makeTemplates, regulatorWord, VOLTAGES } from '../../sim/explore/world.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { amount, someOf } from '../support/volume.js';

const module = loadControlModule();
const VELOCITY = regulatorWord('velocity_mm_s');
/** Explored once for all tests here. */
const explorations = someOf(KINDS, KINDS.length).map((kind) => ({ kind, exploration: explore(module, kind) }));
const named = explorations.map(
  ({ kind, exploration }) =>
    [
      `${kind.supply_contact ? 'with' : 'without'} contact, ${kind.target_learned ? 'learned' : 'fixed'} target, ${kind.parameters ?? 'parameters as it comes'}`,
      kind,
      exploration,
    ] as const,
);

describe.each(named)('the exploration of the shipped module, %s', (_, kind, exploration) => {
  it('breaks no invariant', () => {
    expect(exploration.violations).toEqual([]);
    expect(exploration.states).toBeGreaterThan(1000);
  });

  it('reaches every mode, stage, hold, fault and refusal, but for what is said and what this kind cannot reach', () => {
    const missing = reached(exploration)
      .filter(({ ticks }) => ticks === null)
      .map(({ kind: what, name }) => `${what} ${name}`);
    const learning = kind.target_learned ? [] : ['stage learn'];
    const unwatched = kind.parameters === undefined ? [] : ['hold corner', 'hold crossing', 'fault reading-stuck'];
    expect(missing.sort()).toEqual([...Object.keys(NOT_REACHED), ...learning, ...unwatched].sort());
  });

  it('leaves nothing out: anything at all, from any state that was reached, leads to a state that was reached', () => {
    const directions = [...ALL_DIRECTIONS, CONTACT];
    const known = new Set(
      Array.from({ length: exploration.table.size }, (__, entry) => exploration.table.keyAt(entry)),
    );
    const runner = new TickRunner(module, kind);
    const random = new Random(11, kind.supply_contact ? 1 : 0);
    // The few states with an arc have the most that can happen: they are drawn as often as the many of a fault.
    const burning = [...known].filter((key) => fieldOf(key, 'mode') !== MODE_FAULT);
    const all = [...known];
    const missed: string[] = [];
    for (let at = 0; at < amount(60_000, 20_000) && missed.length === 0; at++) {
      const from = at % 2 === 0 ? burning : all;
      const key = from[Math.floor(random.uniform() * from.length)];
      const drawn = directions.map((direction) => direction[Math.floor(random.uniform() * direction.length)]);
      // Z that the box does not own stands still; that it does so is checked after every tick.
      const options = drawn.filter(({ real }) => fieldOf(key, 'owned') !== 0 || !real?.velocity_mm_s);
      const after = runner.step(key, rowOf(options), 0);
      const broken = brokenBy(INVARIANTS, key, after, runner.facts | factsOf(kind)).map(({ name }) => name);
      const still = fieldOf(after, 'owned') !== 0 || runner.words[VELOCITY] === 0;
      if (known.has(after) && broken.length === 0 && fits(runner.words) && still) continue;
      missed.push(`${key} -> ${after} ${broken} (${options.map(({ say }) => say).filter(Boolean)})`);
    }
    expect(missed).toEqual([]);
  });
});

describe('what is put back between two ticks', () => {
  it('is enough: ring and history of a steady voltage are after a tick what they were before', () => {
    const runner = new TickRunner(module, KINDS[0], null);
    const key = runner.start();
    makeTemplates(controllerOf(module, KINDS[0])).forEach((templates, voltage) => {
      templates.forEach((template, feed) => {
        runner.step(key, rowOf([{ say: '', voltage, feed }]), 0);
        const before = template.slice((RING_AT - REGULATOR_AT) / 4);
        expect(runner.words.slice(RING_AT / 4), VOLTAGES[voltage].name).toEqual(before);
      });
    });
  });
});

describe('what the exploration cannot reach', () => {
  it('is reached by a number that is not finite', () => {
    const controller = new WasmController(module);
    controller.powerUp();
    controller.readings.fill(124);
    const state = controller.state();
    new Float32Array(state.buffer, state.byteOffset, state.length / 4)[regulatorWord('slope_x')] = Number.NaN;
    controller.tick();
    expect(controller.output.integers[OUTPUT_FAULT / 4]).toBe(FAULT_NOT_FINITE);
    expect(controller.output.integers[OUTPUT_MODE / 4]).toBe(MODE_FAULT);
  });

  it('is reached by parameters that contradict each other', () => {
    const controller = new WasmController(module);
    const id = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.id;
    controller.setParameter(id('seek_slow_mm_s'), 10);
    controller.setParameter(id('seek_fast_mm_s'), 9);
    controller.powerUp();
    controller.readings.fill(124);
    const hold = (lines: number, ticks: number) => {
      controller.digital_inputs = lines;
      for (let tick = 0; tick < ticks; tick++) controller.tick();
    };
    const ready = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
    hold(ready, 40);
    hold(ready | INPUT_KEY, 5);
    hold(ready | INPUT_KEY | INPUT_REQUEST, 1);
    expect(controller.output.integers[OUTPUT_REFUSAL / 4]).toBe(REFUSAL_PARAMETERS);
  });
});

describe('the changes of mode that were found', () => {
  const together = explorations[0].exploration.next_modes.map((_, mode) =>
    explorations.reduce((sum, { exploration }) => sum | exploration.next_modes[mode], 0),
  );

  it('are the ones on the page about modes', () => {
    const page = readFileSync(new URL('../../hardware-notes/modes.md', import.meta.url), 'utf8');
    const drawn = /~~~mermaid\n(.*?)~~~/s.exec(page)?.[1];
    expect(drawn).toBe(modeGraph(together));
  });
});

describe('the way to a state', () => {
  const { exploration } = explorations[0];

  it('begins at power-up and changes the box in every step', () => {
    for (const entry of [1, 100, exploration.table.size - 1]) {
      const counterexample = counterexampleTo(exploration, entry);
      expect(counterexample.length).toBeGreaterThan(0);
      expect(counterexample.at(-1).after).toBe(exploration.table.keyAt(entry));
      for (const { happens, box } of counterexample)
        expect([happens.length > 5, box.length > 3], `${happens} -> ${box}`).toEqual([true, true]);
    }
  });
});
