/**
 * Does pieces of work 0 … count − 1, begun in their order. A piece begins when the one `window` places before it is done, so
 * that a piece that takes long is never left far behind.
 * @throws what the first piece of those that failed has thrown; after it none begins any more
 */
export async function pipeline(count: number, window: number, piece: (index: number) => Promise<void>): Promise<void> {
  const under_way: Promise<void>[] = [];
  for (let next = 0; next < count; next++) {
    if (under_way.length === window) await under_way.shift();
    const work = piece(next);
    // It is looked at in its turn; until then its failure is nobody's.
    work.catch(() => {});
    under_way.push(work);
  }
  for (const work of under_way) await work;
}
