/** Types of pack.mjs, for its tests. */
export function bootRomCrc(bytes: Uint8Array): number;
export function bootBlock(code: Buffer): Buffer;
export function loader(block: Buffer, resident: Buffer): Buffer;
export interface ImageFacts {
  readonly version: string;
  readonly module_sha256: Buffer;
  readonly export_table: number;
}
export function image(body: Buffer, facts: ImageFacts): Buffer;
export function withGeneration(imageBytes: Buffer, generation: number): Buffer;
export function uf2(loaderBytes: Buffer, imageBytes: Buffer): Buffer;
