/**
 * Every error that a user can cause. It carries a stable code, what was wrong (with the value and its
 * place), and what to do about it; `message` joins the two so that one line is always enough.
 */
export class StandoffError extends Error {
  override readonly name = 'StandoffError';

  /**
   * @param code   stable, lower-case words joined by hyphens, such as `program-empty`
   * @param what   what was wrong, with the value and where it stands
   * @param remedy what the reader can do now
   */
  constructor(
    readonly code: string,
    readonly what: string,
    readonly remedy: string,
  ) {
    super(`${what}; ${remedy}`);
  }
}

/** A place in a text file; both count from 1. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

/** `gate.nc:12:7`, the form that editors turn into a link. */
export function placeText(place: Place): string {
  return `${place.file}:${place.line}:${place.column}`;
}
