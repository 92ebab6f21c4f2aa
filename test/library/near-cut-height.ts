/** A stranger's requirement for a campaign: a module that exports `requirements`. */
import { MODE_FOLLOW, Requirement, type RequirementContext, type TraceBlock } from 'standoff';

/** While the regulator follows, the tip stays near cut height. */
class NearCutHeight extends Requirement {
  readonly name: string;
  readonly number = 0;
  readonly statement: string;
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';

  constructor(
    context: RequirementContext,
    private readonly band_mm: number,
  ) {
    super(context);
    this.name = `within-${Math.round(band_mm * 1000)}-um`;
    this.statement = `while it follows, the tip stays within ${band_mm} mm of cut height`;
  }

  override watch(block: TraceBlock): void {
    const { cut_height_mm } = this.parameters;
    for (let row = 0; row < block.count; row++) {
      if (block.mode[row] !== MODE_FOLLOW) continue;
      this.checked++;
      const error_mm = Math.abs((block.standoff_mm[row] ?? Number.NaN) - cut_height_mm);
      this.note(this.band_mm - error_mm, block.first_tick + row);
    }
  }
}

/** One that a good cut keeps, and one that no cut keeps. */
export const requirements = (context: RequirementContext): readonly Requirement[] => [
  new NearCutHeight(context, 5),
  new NearCutHeight(context, 0.001),
];
