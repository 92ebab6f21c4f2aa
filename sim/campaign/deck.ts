import type { Random } from '../base/index.js';

/** A whole number from 0 to below `count`. */
export const below = (random: Random, count: number) => Math.floor(random.uniform() * count);

/** Pairs of a kind and a moment, shuffled; when all were dealt they are shuffled again. */
export class Deck {
  private readonly cards: number[];
  private at = 0;

  constructor(
    private readonly random: Random,
    kinds: number,
    private readonly moments: number,
  ) {
    this.cards = Array.from({ length: kinds * moments }, (_, card) => card);
  }

  next(): readonly [kind: number, moment: number] {
    const { random, cards } = this;
    const from = this.at % cards.length;
    const other = from + below(random, cards.length - from);
    const card = cards[other];
    cards[other] = cards[from];
    cards[from] = card;
    this.at++;
    return [Math.floor(card / this.moments), card % this.moments];
  }
}
