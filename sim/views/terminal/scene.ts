import type { ColumnName } from '../../run/trace/index.js';
import type { ViewHistory } from './history.js';

/** What stays the same during a run and a picture must know. */
export interface ViewScene {
  /** Name of the program as the user knows it. */
  readonly program: string;
  /** Contours in the program. */
  readonly contours: number;
  /** Wanted standoff while cutting, mm. */
  readonly cut_height_mm: number;
  /** Wanted standoff while piercing, mm. */
  readonly pierce_height_mm: number;
  /** Thickness of the sheet, for the drawing only, mm. */
  readonly thickness_mm: number;
  /** The standoff counts as wanted within ± this, mm. */
  readonly tolerance_mm: number;
}

/** The newest row of a run, column by column, and its tick from power-up. */
export type NowRow = { readonly [N in ColumnName]: number } & { readonly tick: number };

/** Everything one frame of the live view is drawn from. */
export interface ViewState {
  readonly scene: ViewScene;
  readonly history: ViewHistory;
  /** Share of the program that is done, 0…1. */
  readonly progress: number;
  /** Simulated time to go, s; NaN when it is not known. */
  readonly remaining_s: number;
  /** Simulated seconds for a wall second that the user asked for. */
  readonly speed: number;
  readonly paused: boolean;
}
