/** Ctrl-C, the end of the terminal, and a polite kill. */
export const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/**
 * Runs something that Ctrl-C ends in good order. What it throws after that counts as its end.
 * @returns undefined when it was broken off
 */
export async function interruptible<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T | undefined> {
  const controller = new AbortController();
  const onSignal = () => controller.abort();
  for (const signal of SIGNALS) process.on(signal, onSignal);
  try {
    return await work(controller.signal);
  } catch (error) {
    if (controller.signal.aborted) return undefined;
    throw error;
  } finally {
    for (const signal of SIGNALS) process.off(signal, onSignal);
  }
}
