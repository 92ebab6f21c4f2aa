/** Ctrl-C, the end of the terminal, and a polite kill. */
export const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** Runs something that these signals ask to end, however often they come. */
export async function withSignals<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T> {
  const controller = new AbortController();
  const onSignal = () => controller.abort();
  for (const signal of SIGNALS) process.on(signal, onSignal);
  try {
    return await work(controller.signal);
  } finally {
    for (const signal of SIGNALS) process.off(signal, onSignal);
  }
}

/**
 * Runs something that Ctrl-C ends in good order. What it throws after that counts as its end.
 * @returns undefined when it was broken off
 */
export async function interruptible<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T | undefined> {
  return withSignals(async (signal) => {
    try {
      return await work(signal);
    } catch (error) {
      if (signal.aborted) return undefined;
      throw error;
    }
  });
}
