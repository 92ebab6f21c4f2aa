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
  /** True: the latched stop is set as well. */
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
  ['learn', 'the arc is measured at a standoff that the touch-off has given'],
  ['up', 'a stroke of the proof: the torch goes up from pierce height'],
  ['over', 'a stroke of the proof: over its top and down again'],
  ['down', 'a stroke of the proof: coming to rest at pierce height'],
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
  [
    'resting',
    'the outputs are to rest: a host holds the box in lockstep, or the image was gone back to and its parameters must be set again',
  ],
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
    'make sure that there is sheet under the torch, that the switch is wired and that Z moves the right way',
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
    'look at the work clamp, the consumables, the air, the pierce height and the firing lead',
    'retract',
    false,
  ],
  [
    'arc-lost',
    'the arc went out during the cut',
    'look for too high a feed, too high a torch, a worn electrode or a cut off the edge; the contour is not struck again',
    'retract',
    false,
  ],
  [
    'no-voltage',
    'the arc voltage fell to nothing while the trigger was on',
    'look for an open sensing lead or connector, or a shorted divider',
    'retract',
    false,
  ],
  [
    'reversed',
    'the arc voltage reads negative',
    'look for exchanged sensing leads, or a converter that reads nothing at all',
    'retract',
    false,
  ],
  [
    'reading-stuck',
    'the converter gives the same reading again and again',
    'look at the isolation stage, the converter and its supply',
    'retract',
    false,
  ],
  [
    'reading-saturated',
    'the converter is at the top of its range during the cut',
    'look for too small a ratio of the divider, or an open part in it',
    'retract',
    false,
  ],
  [
    'voltage-at-rest',
    'there is arc voltage although the trigger is off',
    'switch the supply off at the mains; look for a welded firing contact, a latching trigger or a hand on the torch',
    'stop',
    true,
  ],
  [
    'crossing-long',
    'a kerf crossing did not end within its bounds',
    'look at crossing_ms and crossing_path_mm, for a cut that ran off the sheet, and for a divider that reads too high',
    'retract',
    false,
  ],
  [
    'arc-long',
    'the arc burned longer than arc_longest_s',
    'shorten the contour or raise arc_longest_s; mind the duty cycle of the supply',
    'retract',
    false,
  ],
  [
    'travel',
    'Z reached the end of its travel, or pierce height lies beyond it',
    'look at travel_mm and dive_mm, and for a sheet far lower than where it was touched, or nearer than pierce_height_mm below where the box took Z over',
    'retract',
    false,
  ],
  [
    'wrong-way',
    'the standoff error grew while Z moved to correct it',
    'look at the direction of Z, z_steps_per_mm and arc_slope_V_per_mm, and for a loose coupling or a sensing contact that opens at times',
    'retract',
    false,
  ],
  [
    'stray-motion',
    'X and Y went on moving although the motion permit was withdrawn',
    'make the motion controller watch the motion permit, not only read it once',
    'stop',
    true,
  ],
  ['overrun', 'the processor missed a tick', 'report it: the box must never be that slow', 'stop', false],
  ['not-finite', 'a computed output was not a finite number', 'report it with the recorded run', 'stop', false],
  [
    'standstill',
    'the arc burned for standstill_s under the motion permit and no X or Y step came',
    'find out why the table stood: a dwell or a feed hold with the torch on, or a torch request that sticks; if it moved, look at the X and Y step wires to the box',
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
  [
    'contact',
    'the touch-off switch closed during the cut: the torch is on the sheet, or on something that lies on it',
    'look for a tipped-up part, a sheet that rises faster than Z follows, a hold over a rising sheet, and a stuck switch',
    'retract',
    false,
  ],
  [
    'early-motion',
    'X and Y moved before the motion permit, while the box was touching off, striking or piercing',
    'make the motion controller ask for the torch only when the table stands, and wait for the motion permit',
    'retract',
    false,
  ],
  [
    'no-response',
    'there was voltage, but it did not answer to the torch as an arc to the work does',
    'look at the work clamp, the consumables and the air (the pilot alone burns), at the direction of Z and at the sensing leads; a very noisy supply needs its own contact (supply_contact)',
    'retract',
    false,
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
