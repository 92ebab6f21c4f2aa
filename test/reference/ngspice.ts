import { execFileSync } from 'node:child_process';
import type { ReferenceProgram } from './support.js';

export const NGSPICE: ReferenceProgram = {
  name: 'ngspice',
  debian: 'ngspice',
  command: 'ngspice',
  probe: ['--version'],
};

/**
 * Runs a netlist with control commands through the circuit simulator.
 * @param commands lines of its control language; each `print NAME` gives an entry of the answer
 * @returns the numbers by name, in the order of their printing
 */
export function simulateCircuit(command: string, netlist: string, commands: readonly string[]): Map<string, number[]> {
  const control = ['.control', 'set numdgt=12', ...commands, 'quit', '.endc', '.end', ''].join('\n');
  const output = execFileSync(command, ['-b'], {
    input: netlist.replace(/\.end\n$/, control),
    encoding: 'utf8',
    stdio: ['pipe', 'pipe', 'ignore'],
  });
  const found = new Map<string, number[]>();
  for (const [, name, value] of output.matchAll(/^(\w+) = ([-+\d.eE]+)\s*$/gm)) {
    found.set(name, [...(found.get(name) ?? []), Number(value)]);
  }
  return found;
}
