import { expect, it } from 'vitest';
import { dividerParts, tapGain, tapOf } from '../../sim/electrical/circuit.js';
import { faultCircuits, singleFaults } from '../../sim/electrical/faults.js';
import { filterOf } from '../../sim/electrical/filter.js';
import { DEFAULT_LIMITS, type ElectricalMachine, netlistOf, searchDesigns } from '../../sim/electrical/index.js';
import { stressesOf } from '../../sim/electrical/stress.js';
import { machineWith, USE } from '../electrical/machine.js';
import { NGSPICE, simulateCircuit } from './ngspice.js';
import { describeAgainst } from './support.js';

const TRUE_V = USE.target_V;
/** The figure to reach: agreement within 0.1 %. Zero is told apart from a small voltage by a microvolt. */
const WITHIN = 1e-3;
const agrees = (ours: number, theirs: number, least = 1e-6) =>
  expect(Math.abs(ours - theirs), `${ours} and ${theirs}`).toBeLessThanOrEqual(WITHIN * Math.abs(theirs) + least);

/** The example, and the first proposal of each series that has one. */
const DESIGNS: readonly (readonly [string, ElectricalMachine])[] = [
  ['the example', machineWith()],
  ...[24, 48, 96, 192].map((series): [string, ElectricalMachine] => {
    const found = searchDesigns(machineWith({ 'divider.series': series }), USE, DEFAULT_LIMITS, 1);
    return [`the first of E${series}`, found.proposals[0].machine];
  }),
  ['five upper resistors', machineWith({ 'divider.top_resistors': 5, 'divider.top_kohm': 240 })],
];

describeAgainst(NGSPICE, 'the divider, against a circuit simulator', (command) => {
  it.each(DESIGNS)('%s: direct voltages at the tap, at the converter and over every resistor', (_name, machine) => {
    const parts = dividerParts(machine).filter(({ name }) => /^R\d+$/.test(name));
    const found = simulateCircuit(command, netlistOf(machine, machine.supply.no_load_V), [
      'op',
      'let tap=v(plus)-v(minus)',
      'let out=v(adc)',
      'print tap',
      'print out',
      ...parts.flatMap(({ name }) => [`let w${name}=@${name.toLowerCase()}[p]`, `print w${name}`]),
    ]);
    const tap_V = machine.supply.no_load_V / tapOf(machine).ratio;
    const { zero_counts, reference_V, bits } = machine.converter;
    agrees(tap_V, found.get('tap')![0]);
    agrees(tap_V + (zero_counts * reference_V) / 2 ** bits, found.get('out')![0]);
    for (const { part, watts } of stressesOf(machine)) agrees(watts, found.get(`w${part.toLowerCase()}`)![0], 1e-12);
  });

  it.each(DESIGNS)('%s: share and phase of alternating voltages at the converter', (_name, machine) => {
    const figures = filterOf(machine, USE);
    const at = (frequency_Hz: number) => [
      `ac lin 1 ${frequency_Hz} ${frequency_Hz}`,
      `let share=mag(v(adc))*${tapOf(machine).ratio}`,
      'print share',
      'let degrees=ph(v(adc))*180/pi',
      'print degrees',
    ];
    const frequencies = [figures.loop_Hz, figures.corner_Hz, figures.ripple_Hz, figures.inverter_kHz * 1000];
    const found = simulateCircuit(command, netlistOf(machine, TRUE_V), frequencies.flatMap(at));
    const shares = found.get('share')!;
    // The simulator's circuit reads at every moment; half the time between two readings is no part of it.
    const held_deg = 360 * figures.loop_Hz * 0.05e-3;
    agrees(-(figures.loop_phase_deg - held_deg), found.get('degrees')![0]);
    agrees(figures.ripple_share, shares[2]);
    agrees(figures.inverter_share, shares[3]);
    // At the filter's corner the share is 1/√2 but for the isolation stage, which lies far above.
    const stage = 1 / Math.sqrt(1 + (figures.corner_Hz / (machine.isolation.bandwidth_kHz * 1000)) ** 2);
    agrees(Math.SQRT1_2 * stage, shares[1]);
  });

  it.each(DESIGNS)('%s: the tap after a jump of the arc voltage', (_name, machine) => {
    const { rc_ms, ratio } = tapOf(machine);
    const moments_ms = [0.5, 1, 2, 5].map((times) => times * rc_ms);
    const jump = netlistOf(machine, TRUE_V).replace(/^VARC .*$/m, `VARC work 0 PWL(0 0 1n ${TRUE_V})`);
    const found = simulateCircuit(command, jump, [
      `tran ${rc_ms / 500}m ${6 * rc_ms}m 0 ${rc_ms / 500}m uic`,
      'let tap=v(plus)-v(minus)',
      ...moments_ms.flatMap((ms, n) => [`meas tran t${n} find tap at=${ms}m`]),
      ...moments_ms.map((_, n) => `print t${n}`),
    ]);
    for (const [n, ms] of moments_ms.entries()) {
      agrees((TRUE_V / ratio) * (1 - Math.exp(-ms / rc_ms)), found.get(`t${n}`)!.at(-1));
    }
  });

  const machine = machineWith();
  const faults = singleFaults(machine, TRUE_V);
  it.each(faultCircuits(machine))('$part $failure: what the tap reads, and how fast', ({ part, failure, parts }) => {
    const fault = faults.find((one) => one.part === part && one.failure === failure)!;
    const found = simulateCircuit(command, netlistOf(machine, TRUE_V, parts), [
      'op',
      'let tap=v(plus)-v(minus)',
      'print tap',
    ]);
    const sign = failure === 'exchanged' ? -1 : 1;
    agrees(fault.tap_per_V! * sign * TRUE_V, found.get('tap')![0]);
    if (fault.rc_ms! < 0.01) return;
    // The time constant, by the share left at its own corner frequency from a current fed into the tap.
    const corner_Hz = 1000 / (2 * Math.PI * fault.rc_ms!);
    const fed = netlistOf(machine, TRUE_V, parts)
      .replace(/^VARC .*$/m, 'VARC work 0 DC 0')
      .replace('.end\n', 'IFEED minus plus AC 1u\n.end\n');
    const answer = simulateCircuit(command, fed, [
      `ac lin 1 ${corner_Hz} ${corner_Hz}`,
      'let ohm=mag(v(plus)-v(minus))/1u',
      'print ohm',
    ]);
    agrees(tapGain(parts).source_ohm * Math.SQRT1_2, answer.get('ohm')![0]);
  });
});
