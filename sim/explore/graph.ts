import { MODE_ROWS } from '../../firmware/wire/code-rows.js';

/** The changes of mode that were found, as a Mermaid state diagram. @param next bit set of the modes that follow each */
export function modeGraph(next: readonly number[]): string {
  const lines = MODE_ROWS.flatMap(({ code, name }) =>
    MODE_ROWS.filter((other) => other.code !== code && ((next[code] ?? 0) & (1 << other.code)) !== 0).map(
      (other) => `    ${name} --> ${other.name}`,
    ),
  );
  return ['stateDiagram-v2', '    [*] --> rest', ...lines, ''].join('\n');
}
