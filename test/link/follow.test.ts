import { describe, expect, it } from 'vitest';
import { type Line, type Moved, portFollower } from '../../sim/link/index.js';

/** Opens nothing: what is asked for is noted, and a line with the next address and serial number comes. */
function system(...ports: readonly (readonly [address: string, serial?: string])[]) {
  const asked: string[] = [];
  const moved: Moved[] = [];
  const open = async (address: string): Promise<Line> => {
    const [name, serial] = ports[asked.length];
    asked.push(address);
    return { address: name, ...(serial !== undefined && { serial }) } as Line;
  };
  return { asked, moved, open: portFollower((one) => moved.push(one), open) };
}

describe('whoever follows a box', () => {
  it('asks for its serial number once it is known, and tells when the port has another name', async () => {
    const { asked, moved, open } = system(
      ['/dev/ttyACM0', 'SNDF-1'],
      ['/dev/ttyACM1', 'SNDF-1'],
      ['/dev/ttyACM1', 'SNDF-1'],
    );
    for (let time = 0; time < 3; time++) await open('/dev/ttyACM0');
    expect(asked).toEqual(['/dev/ttyACM0', 'SNDF-1', 'SNDF-1']);
    expect(moved).toEqual([{ serial: 'SNDF-1', from: '/dev/ttyACM0', to: '/dev/ttyACM1' }]);
  });

  it('goes by the address where no serial number is told, or the address is no name of the system', async () => {
    for (const [address, serial] of [
      ['/dev/ttyUSB0', ''],
      ['tcp://a:1', ''],
      ['usb://a:1', 'SNDF-1'],
    ] as const) {
      const { asked, moved, open } = system([address, serial], [address, serial]);
      await open(address);
      await open(address);
      expect(asked).toEqual([address, address]);
      expect(moved).toEqual([]);
    }
  });
});
