/** Which port is opened, which never, and what ends the wait. */
import { describe, expect, it } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';
import { openLine, type PortList } from '../../../sim/link/index.js';
import { findBox } from '../../../sim/run/begin/index.js';
import { FakeLine } from '../../link/fake-line.js';
import { delivered } from '../../link/flashing.js';

const list = (serials: Record<string, string>, others: readonly string[] = [], note = ''): PortList => ({
  addresses: [...Object.keys(serials), ...others],
  serials,
  note,
});

/** Looks, with a list that changes from look to look; the last one stays. */
async function looked(lists: readonly PortList[], open?: (address: string) => Promise<FakeLine>) {
  const opened: string[] = [];
  const told: string[] = [];
  let looks = 0;
  const stop = new AbortController();
  const result = await findBox({
    signal: stop.signal,
    tell: (sentence) => told.push(sentence),
    list: async () => {
      if (looks >= 6) stop.abort();
      return lists[Math.min(looks++, lists.length - 1)];
    },
    open: async (address) => {
      opened.push(address);
      return open ? open(address) : new FakeLine(delivered(), {});
    },
  });
  return { result, opened, told, looks };
}

const BOX = 'SNDF-E6605838';

describe('looking for a box', () => {
  it('waits for a port with the serial number of a box, and opens no other', async () => {
    const foreign = list({}, ['/dev/ttyUSB0', '/dev/ttyACM3']);
    const { result, opened, looks } = await looked([foreign, foreign, list({ '/dev/ttyACM0': BOX }, ['/dev/ttyUSB0'])]);
    expect(result).toMatchObject({ address: BOX, identity: { in_loader: false } });
    expect(opened).toEqual([BOX]);
    expect(looks).toBe(3);
  });

  it('ends without a box when it is told to', async () => {
    expect(await looked([list({})])).toMatchObject({ result: undefined, opened: [] });
  });

  it('does not choose among two', async () => {
    const two = list({ '/dev/ttyACM0': BOX, '/dev/ttyACM1': 'SNDF-0000' });
    await expect(looked([two])).rejects.toMatchObject({
      code: 'port-address',
      what: expect.stringContaining('SNDF-0000'),
      remedy: expect.stringContaining(`--port ${BOX}`),
    });
  });

  it('tells what stands in the way once, a missing port not at all, and goes on', async () => {
    let opens = 0;
    const open = async () => {
      opens++;
      if (opens < 3) throw new StandoffError('port-refused', '/dev/ttyACM0 may not be opened', 'join the group');
      if (opens < 4) throw new StandoffError('port-missing', 'there is no port', 'plug it in');
      return new FakeLine(delivered(), {});
    };
    const { result, told } = await looked([list({ '/dev/ttyACM0': BOX }, [], 'udevadm is missing')], open);
    expect(result?.address).toBe(BOX);
    expect(told).toEqual(['udevadm is missing', '/dev/ttyACM0 may not be opened: join the group']);
  });

  it('ends at a line that another program is on: nobody is sent to its plug', async () => {
    const what = 'the link to tcp://a:1 is lost: the line is in use by 127.0.0.1:43260';
    const open = async () => {
      throw new StandoffError('link-lost', what, 'end the other program');
    };
    await expect(looked([list({ '/dev/ttyACM0': BOX })], open)).rejects.toMatchObject({ what });
  });

  it.each(['tcp://127.0.0.1:99999', 'usb://127.0.0.1:65536'])('ends at what is no address: %s', async (address) => {
    const wanted = { code: 'port-address', what: expect.stringContaining(`${address} is not an address`) };
    await expect(openLine(address)).rejects.toMatchObject(wanted);
  });
});
