import { type ChildProcess, spawn } from 'node:child_process';
import { StandoffError, type StandoffErrorCode } from '../../base/index.js';

/** A serial device of this computer that leads to a TCP port. */
export interface PseudoTerminal {
  /** Such as /dev/pts/7. */
  readonly device: string;
  /** Told when socat has ended by itself. */
  onEnd: () => void;
  close(): void;
}

const NAMED = /PTY is (\S+)/;
const LONGEST_MS = 5000;

/**
 * Makes a pseudo-terminal with socat.
 * @throws StandoffError `socat-missing`, `socat-failed`
 */
export function openPseudoTerminal(port: number): Promise<PseudoTerminal> {
  return new Promise((resolve, reject) => {
    const socat = spawn('socat', ['-d', '-d', 'pty,raw,echo=0', `tcp:127.0.0.1:${port},nodelay`], {
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    let said = '';
    const fail = (code: StandoffErrorCode, what: string, remedy: string) => {
      clearTimeout(timer);
      socat.kill();
      reject(new StandoffError(code, what, remedy));
    };
    const timer = setTimeout(
      () => fail('socat-failed', 'socat made no serial device', 'use the TCP address'),
      LONGEST_MS,
    );
    socat.on('error', () =>
      fail('socat-missing', '--pty wants the program socat, which was not found', 'install it, or use the TCP address'),
    );
    socat.stderr.on('data', (chunk) => {
      said += String(chunk);
      const device = NAMED.exec(said)?.[1];
      if (device === undefined) return;
      clearTimeout(timer);
      socat.stderr.removeAllListeners('data').resume();
      resolve(terminalOf(socat, device));
    });
  });
}

function terminalOf(socat: ChildProcess, device: string): PseudoTerminal {
  const terminal: PseudoTerminal = {
    device,
    onEnd: () => {},
    close() {
      terminal.onEnd = () => {};
      socat.kill();
    },
  };
  socat.once('exit', () => terminal.onEnd());
  return terminal;
}
