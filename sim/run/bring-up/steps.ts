import { numberOf, TRIAL_NUMBER_ROWS } from '../../../firmware/wire/number-rows.js';
import type { Image } from '../../link/index.js';
import type { Step } from './bench.js';
import { converterStep } from './converter-step.js';
import {
  failureStep,
  flashTimesStep,
  lockstepStep,
  powerCutsStep,
  replugsStep,
  restartsStep,
  speedsStep,
  updateStep,
} from './link-steps.js';
import { countersStep, inputsStep, outputsStep, stepsStep } from './pin-steps.js';
import { clocksStep, identityStep, ticksStep } from './time-steps.js';

const step = (
  name: string,
  title: string,
  unit: string,
  board: number,
  emulated: number,
  run: Step['run'],
  hands = false,
): Step => ({
  name,
  title,
  unit,
  counts: { board, emulated },
  hands,
  run,
});

const failure = (name: string, boot: string) => failureStep(numberOf(TRIAL_NUMBER_ROWS, name), boot);

/**
 * Every step, in its order: first what needs no hands, then the cable, then jumpers.
 * @param image the one that the update writes
 */
export const bringUpSteps = (image: () => Image): readonly Step[] => [
  step('identity', 'who answers', 'times', 1, 1, identityStep),
  step('clocks', 'clock of the box against that of this computer', 's', 60, 4, clocksStep),
  step('ticks', 'every tick comes, none late', 'ticks', 60_000, 1000, ticksStep),
  step('lockstep', 'module in the box against the one on the desk', 'ticks', 1_000_000, 2000, lockstepStep),
  step('speeds', 'speeds of the serial line', 'requests each', 1000, 20, speedsStep),
  step('restarts', 'the chip’s own reset', 'restarts', 20, 2, restartsStep),
  step('hang', 'a control tick that stops', 'times', 5, 2, failure('TRIAL_HANG', 'hung')),
  step('stack', 'a stack that runs over its end', 'times', 5, 1, failure('TRIAL_STACK', 'stack')),
  step('protected', 'a write to the code', 'times', 5, 4, failure('TRIAL_PROTECTED', 'hard-fault')),
  step('flash-times', 'parameters kept in flash', 'commits', 20, 2, flashTimesStep),
  step('update', 'the image into the other slot', 'updates', 2, 2, updateStep(image)),
  step('replugs', 'cable out and in', 'times', 10, 2, replugsStep, true),
  step('power-cuts', 'power that goes while parameters are kept', 'cuts', 10, 2, powerCutsStep, true),
  step('inputs', 'each input, by a jumper to 0 V', 'rounds', 1, 1, inputsStep, true),
  step('counters', 'step counters, by the lamp', 'periods', 20, 2, countersStep, true),
  step('outputs', 'outputs, by jumpers to inputs', 'rounds', 1, 1, outputsStep, true),
  step('steps', 'a great many steps, by jumpers to the counters', 'steps', 1_000_000, 4000, stepsStep, true),
  step(
    'converter',
    'converter, by ramps of a resistor and a capacitor',
    'ramps up and down',
    10,
    1,
    converterStep,
    true,
  ),
];
