/** See track.mjs. */
export function tracked(bytes: Uint8Array, lines: number, forgets?: (text: string) => boolean): Uint8Array<ArrayBuffer>;
