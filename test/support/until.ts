import { setTimeout as sleep } from 'node:timers/promises';

/** Waits until something holds; what it throws counts as not yet. @throws Error after so many seconds */
export async function until(holds: () => boolean, longest_s: number): Promise<void> {
  const end_ms = performance.now() + longest_s * 1000;
  for (;;) {
    let why: unknown;
    try {
      if (holds()) return;
    } catch (error) {
      why = error;
    }
    if (performance.now() > end_ms) throw new Error(`not within ${longest_s} s: ${holds}`, { cause: why });
    await sleep(20);
  }
}
