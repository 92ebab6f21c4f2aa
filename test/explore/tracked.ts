import { INPUT_DIGITAL } from '../../firmware/wire/layout.gen.js';
import { tracked } from '../../sim/explore/module/track.mjs';
import {
  type ControlModule,
  controlModule,
  loadControlModule,
  WasmController,
} from '../../sim/run/controller/index.js';

const LINES = new WasmController(loadControlModule()).linked.input() + INPUT_DIGITAL;

/** The tracked copy of any build of the control module. @param forgets see `tracked` */
export const trackedOf = ({ bytes }: ControlModule, forgets?: (text: string) => boolean): ControlModule =>
  controlModule(tracked(bytes, LINES, forgets));
