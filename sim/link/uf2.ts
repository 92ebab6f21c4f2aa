/** A piece of flash and its address. */
export interface Piece {
  readonly address: number;
  readonly bytes: Uint8Array;
}

// USB Flashing Format (microsoft/uf2, README; seen): 512-byte blocks, little-endian words.
const BLOCK = 512;
const MAGICS = [0x0a324655, 0x9e5d5157, 0x0ab16f30] as const;
const NOT_MAIN_FLASH = 0x0001;
const FAMILY_PRESENT = 0x2000;
/** Family of the RP2040 (microsoft/uf2, utils/uf2families.json; seen). */
export const RP2040_FAMILY = 0xe48bff56;
const DATA = 256;
const AT = {
  magic: 0,
  magic2: 4,
  flags: 8,
  address: 12,
  size: 16,
  block: 20,
  total: 24,
  family: 28,
  data: 32,
  end: 508,
};

/** The pieces as UF2, in pages of 256 bytes; the rest of a last page is 255, as erased flash is. */
export function writeUf2(pieces: readonly Piece[]): Uint8Array {
  const pages = pieces.flatMap(({ address, bytes }) => {
    const list: Piece[] = [];
    for (let at = 0; at < bytes.length; at += DATA) {
      const page = new Uint8Array(DATA).fill(0xff);
      page.set(bytes.subarray(at, at + DATA));
      list.push({ address: address + at, bytes: page });
    }
    return list;
  });
  const file = new Uint8Array(pages.length * BLOCK);
  const view = new DataView(file.buffer);
  pages.forEach(({ address, bytes }, index) => {
    const start = index * BLOCK;
    const put = (at: number, value: number) => view.setUint32(start + at, value, true);
    put(AT.magic, MAGICS[0]);
    put(AT.magic2, MAGICS[1]);
    put(AT.flags, FAMILY_PRESENT);
    put(AT.address, address);
    put(AT.size, DATA);
    put(AT.block, index);
    put(AT.total, pages.length);
    put(AT.family, RP2040_FAMILY);
    file.set(bytes, start + AT.data);
    put(AT.end, MAGICS[2]);
  });
  return file;
}

/**
 * The pages of a UF2 file for the RP2040; blocks that are not for its flash are passed over.
 * @returns undefined when it is none, is cut off, lacks a block, or is for another chip
 */
export function readUf2(file: Uint8Array): Piece[] | undefined {
  if (file.length === 0 || file.length % BLOCK !== 0) return undefined;
  const view = new DataView(file.buffer, file.byteOffset, file.length);
  const total = file.length / BLOCK;
  const pages: Piece[] = [];
  for (let index = 0; index < total; index++) {
    const get = (at: number) => view.getUint32(index * BLOCK + at, true);
    const magics = get(AT.magic) === MAGICS[0] && get(AT.magic2) === MAGICS[1] && get(AT.end) === MAGICS[2];
    if (!magics || get(AT.block) !== index || get(AT.total) !== total || get(AT.size) > AT.end - AT.data)
      return undefined;
    if ((get(AT.flags) & FAMILY_PRESENT) === 0 || get(AT.family) !== RP2040_FAMILY) return undefined;
    if ((get(AT.flags) & NOT_MAIN_FLASH) !== 0) continue;
    const start = index * BLOCK + AT.data;
    pages.push({ address: get(AT.address), bytes: file.slice(start, start + get(AT.size)) });
  }
  return pages;
}
