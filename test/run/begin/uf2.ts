import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** The firmware file as it is shipped. */
export const SHIPPED_UF2 = readFileSync(
  fileURLToPath(new URL('../../../firmware/image/standoff.uf2', import.meta.url)),
);
