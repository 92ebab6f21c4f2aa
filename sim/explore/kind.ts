import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { FACT } from './facts.js';

/** Which of the module's two kinds of sensing and of target is explored. */
export interface Kind {
  readonly supply_contact: boolean;
  readonly target_learned: boolean;
}

/** With and without the supply's contact, with a fixed and with a learned target; those that take longest first. */
export const KINDS: readonly Kind[] = [true, false].flatMap((supply_contact) =>
  [false, true].map((target_learned) => ({ supply_contact, target_learned })),
);

/** The module with the parameters of a kind. */
export function controllerOf(module: ControlModule, { supply_contact, target_learned }: Kind): WasmController {
  const controller = new WasmController(module);
  const set = (name: string, on: boolean) => {
    controller.setParameter(PARAMETER_ROWS.find((row) => row.name === name)!.id, on ? 1 : 0);
  };
  set('supply_contact', supply_contact);
  set('target_learned', target_learned);
  return controller;
}

/** Facts that hold in every tick of a kind: a supply without a contact of its own is as one whose contact is always closed. */
export const factsOf = ({ supply_contact }: Kind): number => (supply_contact ? 0 : FACT.contact);
