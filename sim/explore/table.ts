/** Keys of 32 bits in the order in which they were found, each with where it came from; open addressing. */
export class KeyTable {
  size = 0;
  private keys = new Uint32Array(1 << 12);
  private parents = new Int32Array(1 << 12);
  private choices = new Int32Array(1 << 12);
  /** Number + 1 of the entry, 0 for an empty place. */
  private places = new Int32Array(1 << 14);

  /** @returns true when the key is new */
  add(key: number, parent: number, choice: number): boolean {
    const mask = this.places.length - 1;
    let place = (Math.imul(key, 0x9e3779b1) >>> 8) & mask;
    for (;;) {
      const entry = this.places[place];
      if (entry === 0) break;
      if (this.keys[entry - 1] === key) return false;
      place = (place + 1) & mask;
    }
    if (this.size === this.keys.length) this.grow();
    this.keys[this.size] = key;
    this.parents[this.size] = parent;
    this.choices[this.size] = choice;
    this.places[place] = ++this.size;
    if (this.size * 4 > this.places.length) this.spread();
    return true;
  }

  keyAt(entry: number): number {
    return this.keys[entry];
  }

  /** Entry and choice that first led here; -1 for the start. */
  originOf(entry: number): { readonly parent: number; readonly choice: number } {
    return { parent: this.parents[entry], choice: this.choices[entry] };
  }

  private grow(): void {
    const larger = <T extends Uint32Array | Int32Array>(list: T, made: T): T => {
      made.set(list as never);
      return made;
    };
    this.keys = larger(this.keys, new Uint32Array(this.size * 2));
    this.parents = larger(this.parents, new Int32Array(this.size * 2));
    this.choices = larger(this.choices, new Int32Array(this.size * 2));
  }

  private spread(): void {
    this.places = new Int32Array(this.places.length * 2);
    const mask = this.places.length - 1;
    for (let entry = 0; entry < this.size; entry++) {
      let place = (Math.imul(this.keys[entry], 0x9e3779b1) >>> 8) & mask;
      while (this.places[place] !== 0) place = (place + 1) & mask;
      this.places[place] = entry + 1;
    }
  }
}
