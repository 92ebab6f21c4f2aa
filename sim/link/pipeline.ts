/**
 * Does pieces of work 0 … count − 1, at most `window` of them under way, begun in their order. After the first failure none
 * begins any more.
 * @throws what the first piece that failed has thrown
 */
export async function pipeline(count: number, window: number, piece: (index: number) => Promise<void>): Promise<void> {
  let next = 0;
  const lane = async () => {
    while (next < count) {
      try {
        await piece(next++);
      } catch (error) {
        next = count;
        throw error;
      }
    }
  };
  await Promise.all(Array.from({ length: Math.min(window, count) }, lane));
}
