/**
 * A stranger's program: a client of the box. Asks who is there, changes one parameter, is refused another one, and prints what
 * it saw as JSON. `node box-client.js tcp://127.0.0.1:4000`
 */
import { link, StandoffError, type StandoffErrorCode } from 'standoff';

const address = process.argv[2] ?? '';
const session = new link.Session(await link.openLine(address));
try {
  session.watch();
  const identity = await link.readIdentity(session);
  const before = await link.readParameters(session);
  const wanted_ms = (before.pierce_ms ?? 0) + 100;
  const generation = await link.writeParameters(session, { pierce_ms: wanted_ms });
  const after = await link.readParameters(session);
  const readings = await link.readReadings(session);
  console.log(
    JSON.stringify({
      in_loader: identity.in_loader,
      module_sha256: identity.module_sha256,
      wanted_ms,
      pierce_ms: after.pierce_ms,
      others: Object.keys(after).length,
      kept: generation > identity.parameter_generation,
      readings: readings.count,
      refused: await refusal(() => link.writeParameters(session, { pierce_ms: -1 })),
      silent: await refusal(() => session.ask('coffee')),
    }),
  );
} finally {
  await session.close();
}

async function refusal(work: () => Promise<unknown>): Promise<StandoffErrorCode | 'none'> {
  try {
    await work();
    return 'none';
  } catch (error) {
    if (error instanceof StandoffError) return error.code;
    throw error;
  }
}
