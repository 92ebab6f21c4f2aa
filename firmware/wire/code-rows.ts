/**
 * Modes, hold causes, refusals and faults: numbers, names and what to say. The constants that the module and the
 * host use (`codes.gen.ts`) are generated from these rows. A number is never reused.
 */
export interface CodeRow {
  readonly code: number;
  readonly name: string;
  /** What it means, for the person at the table. */
  readonly meaning: string;
}

export interface FaultRow extends CodeRow {
  /** What to look at. */
  readonly remedy: string;
  /** True: Z stops where it is and must be homed; false: the torch retracts to where the box took it over. */
  readonly z_stops: boolean;
  /** True: the latched stop opens as well. */
  readonly latches_stop: boolean;
}

const codes = (rows: readonly (readonly [string, string])[]): readonly CodeRow[] =>
  rows.map(([name, meaning], code) => ({ code, name, meaning }));

export const MODE_ROWS = codes([
  ['rest', 'trigger off, Z belongs to the motion controller'],
  ['seek', 'touching off to find the sheet'],
  ['lift', 'rising to pierce height'],
  ['strike', 'trigger on, waiting for the arc'],
  ['pierce', 'piercing at pierce height'],
  ['lower', 'lowering to cut height'],
  ['settle', 'moving, before the regulator takes over'],
  ['follow', 'the regulator keeps the standoff'],
  ['hold', 'the regulator has let go for a named cause'],
  ['retract', 'trigger off, waiting for the voltage to fall, then rising'],
  ['fault', 'stopped; needs a reset with the request off'],
]);

export const STAGE_ROWS = codes([
  ['none', 'the mode has no stages'],
  ['fast', 'first approach'],
  ['back', 'lifting off the switch'],
  ['slow', 'second approach'],
  ['open', 'slow lift; the switch opening is the reference'],
  ['fall', 'waiting for the voltage to fall'],
  ['rise', 'moving up'],
  ['wait', 'waiting for a reset'],
  ['stop', 'Z comes to a stop where it is'],
  ['learn', 'learning the target'],
]);

export const HOLD_ROWS = codes([
  ['none', 'no hold'],
  ['corner', 'the feed has fallen: the voltage says nothing about the standoff'],
  ['crossing', 'the arc passes over metal that is gone'],
  ['external', 'the hold input is on'],
  ['limited', 'after a crossing bound: the regulator is back at limited speed'],
]);

export const REFUSAL_ROWS = codes([
  ['none', 'a torch request would be taken'],
  [
    'key',
    'the arm key is off, or must be turned off and on: it was on at power-up or at a fault, or its contact opened for a moment',
  ],
  ['not-homed', 'home Z to the top switch first'],
  ['stop-chain', 'the stop chain is open'],
  ['fault', 'a fault is latched: clear its cause, take the request off, press reset'],
  ['voltage', 'there is voltage at the tap although nothing should be firing: do not touch the torch'],
  ['request-held', 'the torch request was on already: take it off first'],
  ['parameters', 'the parameters contradict each other'],
  ['breakaway', 'the torch is not seated in its holder'],
  ['resting', 'the outputs are to rest: a host holds the box in lockstep'],
]);

type BareFault = readonly [string, string, string, 'retract' | 'stop', boolean];

const FAULTS: readonly BareFault[] = [
  ['none', 'no fault', '', 'retract', false],
  [
    'stop-chain',
    'the stop chain opened during a cut',
    'find out who or what opened it; home Z before the next cut',
    'stop',
    false,
  ],
  [
    'breakaway',
    'the torch was knocked out of its holder',
    'look for a tipped-up part; seat the torch; home Z',
    'stop',
    false,
  ],
  [
    'touch-closed',
    'the touch-off switch was closed before the touch-off began',
    'look for a stuck switch, a bent lead or a torch already on the sheet',
    'stop',
    false,
  ],
  [
    'touch-missing',
    'the torch went down its whole search travel and met no sheet',
    'is there sheet under the torch, is the switch wired, does Z move the right way',
    'retract',
    false,
  ],
  [
    'touch-stuck',
    'the touch-off switch did not open when the torch was lifted',
    'look at the switch and at the float of the torch holder',
    'stop',
    false,
  ],
  [
    'no-arc',
    'the arc did not start in any of the attempts',
    'work clamp, consumables, air, pierce height, firing lead',
    'retract',
    false,
  ],
  [
    'arc-lost',
    'the arc went out during the cut',
    'feed too high, torch too high, worn electrode, cut off the edge; the contour is not struck again',
    'retract',
    false,
  ],
  [
    'no-voltage',
    'the arc voltage fell to nothing while the trigger was on',
    'the sensing lead or its connector is open, or the divider is shorted',
    'retract',
    false,
  ],
  [
    'reversed',
    'the arc voltage reads negative',
    'the two sensing leads are exchanged, or the converter reads nothing at all',
    'retract',
    false,
  ],
  [
    'reading-stuck',
    'the converter gives the same reading again and again',
    'isolation stage, converter or its supply',
    'retract',
    false,
  ],
  [
    'reading-saturated',
    'the converter is at the top of its range during the cut',
    'divider ratio too small or a part of the divider open',
    'retract',
    false,
  ],
  [
    'voltage-at-rest',
    'there is arc voltage although the trigger is off',
    'a welded firing contact, a latching trigger or a hand on the torch: switch the supply off at the mains',
    'stop',
    true,
  ],
  [
    'crossing-long',
    'a kerf crossing did not end within its bounds',
    'crossing_ms and crossing_path_mm, or the cut ran off the sheet',
    'retract',
    false,
  ],
  [
    'arc-long',
    'the arc burned longer than arc_longest_s',
    'shorten the contour or raise the limit, mind the duty cycle of the supply',
    'retract',
    false,
  ],
  [
    'travel',
    'Z reached the end of its travel, or pierce height lies beyond it',
    'travel_mm, dive_mm, a sheet far lower than where it was touched, or one nearer than pierce_height_mm below where the box took Z over',
    'retract',
    false,
  ],
  [
    'wrong-way',
    'the standoff error grew while Z moved to correct it',
    'direction of Z, steps per mm, arc_slope_V_per_mm, follow_down_mm_s, a loose coupling, a sensing contact that opens at times',
    'stop',
    false,
  ],
  [
    'stray-motion',
    'X and Y went on moving although the motion permit was withdrawn',
    'the motion controller must watch the motion permit, not only read it once',
    'stop',
    true,
  ],
  ['overrun', 'the processor missed a tick', 'report it: the box must never be that slow', 'stop', false],
  ['not-finite', 'a computed output was not a finite number', 'report it with the recorded run', 'stop', false],
  [
    'standstill',
    'the arc burned for standstill_s under the motion permit and no X or Y step came',
    'the table stood: a dwell or a feed hold with the torch on, a torch request that sticks; or it moved unseen: the X and Y step wires to the box',
    'retract',
    true,
  ],
  [
    'relay-closed',
    'the firing contact is closed although the trigger is off',
    'a welded firing contact, a latching trigger, a hand on the torch’s trigger, or a broken wire of the readback, which reads as closed: switch the supply off at the mains',
    'stop',
    true,
  ],
];

export const FAULT_ROWS: readonly FaultRow[] = FAULTS.map(([name, meaning, remedy, z, latches_stop], code) => ({
  code,
  name,
  meaning,
  remedy,
  z_stops: z === 'stop',
  latches_stop,
}));
