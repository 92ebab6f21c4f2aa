import { Worker } from 'node:worker_threads';
import type { Verdict } from './report.js';

/**
 * Hands the places to as many threads, each the next one as soon as it is done.
 * @param told is told each verdict, in the order of the places
 * @throws Error when a thread breaks off, or what is told a verdict throws
 */
export async function judgeAll(places: readonly number[], threads: number, told: (verdict: Verdict) => void) {
  const verdicts = new Map<number, Verdict>();
  let next = 0;
  let shown = 0;
  const take = (verdict: Verdict) => {
    verdicts.set(verdict.index, verdict);
    for (; shown < places.length && verdicts.has(places[shown]); shown++) told(verdicts.get(places[shown])!);
  };
  const workers: Worker[] = [];
  const work = () =>
    new Promise<void>((resolve, reject) => {
      const worker = new Worker(new URL('./worker.js', import.meta.url));
      workers.push(worker);
      const give = () => {
        if (next < places.length) worker.postMessage(places[next++]);
        else resolve();
      };
      worker.on('error', reject);
      worker.on('message', (verdict: Verdict) => {
        try {
          take(verdict);
          give();
        } catch (error) {
          reject(error);
        }
      });
      give();
    });
  try {
    await Promise.all(Array.from({ length: Math.min(threads, places.length) }, work));
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
  return places.map((place) => verdicts.get(place)!);
}
