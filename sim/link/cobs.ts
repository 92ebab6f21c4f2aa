/** Bytes that one code can announce. */
const BLOCK_MOST = 254;

/**
 * Consistent overhead byte stuffing (S. Cheshire & M. Baker, IEEE/ACM Transactions on Networking 1999): the same bytes
 * without any 0, at most one more for each 254 begun, then the 0 that ends a line.
 */
export function stuff(bytes: Uint8Array): Uint8Array {
  const line = new Uint8Array(bytes.length + Math.floor(bytes.length / BLOCK_MOST) + 2);
  let code_at = 0;
  let next = 1;
  for (const byte of bytes) {
    if (byte !== 0) line[next++] = byte;
    const code = next - code_at;
    if (byte !== 0 && code <= BLOCK_MOST) continue;
    line[code_at] = code;
    code_at = next++;
  }
  line[code_at] = next - code_at;
  line[next++] = 0;
  return line.subarray(0, next);
}

/** @param line without its 0 @returns undefined for what no stuffing gives */
export function unstuff(line: Uint8Array): Uint8Array | undefined {
  const bytes = new Uint8Array(line.length);
  let from = 0;
  let to = 0;
  while (from < line.length) {
    const code = line[from++]!;
    const block = code - 1;
    if (code === 0 || block > line.length - from) return undefined;
    bytes.set(line.subarray(from, from + block), to);
    from += block;
    to += block;
    if (code <= BLOCK_MOST && from < line.length) bytes[to++] = 0;
  }
  return bytes.subarray(0, to);
}
