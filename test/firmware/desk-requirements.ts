/**
 * The requirements that a run of the loop cannot put to the test, because the C of the box and its restarts decide them: judged over
 * random episodes of the native build (`native/desk-episodes.c`) and, what the pins show of them, of the emulated chip.
 */
export interface EpisodeRequirement {
  readonly number: number;
  readonly name: string;
  readonly statement: string;
  /** Of the margin: 0, or minus how much or how often it was broken. */
  readonly unit: 'ms' | 'times';
}

export const EPISODE_REQUIREMENTS: readonly EpisodeRequirement[] = [
  {
    number: 16,
    name: 'desk-entry',
    statement: 'the desk state begins only with the key off, at rest or in a fault',
    unit: 'times',
  },
  {
    number: 16,
    name: 'desk-outputs',
    statement: 'in the desk state no output but the latched stop has an edge or is away from rest, and Z gets no step',
    unit: 'ms',
  },
  {
    number: 16,
    name: 'desk-latched-stop',
    statement: 'in the desk state the latched stop is never reset',
    unit: 'times',
  },
  {
    number: 16,
    name: 'desk-parameters',
    statement: 'in the desk state no parameter at the pins but trim_V changes',
    unit: 'ms',
  },
  {
    number: 16,
    name: 'desk-end',
    statement:
      'a host ends the desk state, or restarts a box at all, only by its request, with the key off and in a state that allows it',
    unit: 'times',
  },
  {
    number: 17,
    name: 'restart-latched-stop',
    statement:
      'after a restart of any cause but power-up the latched stop of before is set from the first tick until a reset',
    unit: 'ms',
  },
];
