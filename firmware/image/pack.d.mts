/** Types of pack.mjs, for its tests. */
/** A number of the board by its name. */
export type Board = (name: string) => number;
export function bootRomCrc(bytes: Uint8Array): number;
export function bootBlock(board: Board, code: Buffer): Buffer;
export function loader(board: Board, block: Buffer, resident: Buffer): Buffer;
export interface ImageFacts {
  readonly version: string;
  readonly module_sha256: Buffer;
  readonly export_table: number;
}
export function image(board: Board, body: Buffer, facts: ImageFacts): Buffer;
export function withGeneration(imageBytes: Buffer, generation: number): Buffer;
export function uf2(board: Board, loaderBytes: Buffer, imageBytes: Buffer): Buffer;
