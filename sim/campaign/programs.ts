// Programs that a campaign draws: short cuts made of what drawings are made of, as text that the reader of programs takes.
import { Random } from '../base/index.js';

/** The sheet that is cut, mm. */
export interface Sheet {
  readonly width_mm: number;
  readonly height_mm: number;
  /** How far a cut may run off it. */
  readonly run_off_mm: number;
}

/** Motion of a program with the arc on, s: so that a cut costs about as much as one of the named short cuts. */
const CUT_S = 5;
/** Feeds that are drawn, mm/min; slow ones as often as fast ones, by their logarithm. Named by the task of a table. */
const SLOWEST = 500;
const FASTEST = 8000;
/** Diameters of holes, mm. */
const HOLE_LEAST_MM = 3;
const HOLE_MOST_MM = 20;
/** Length of the pieces of a drawn curve, mm. */
const SPLINE_MM = 0.2;
/** What is not cut off on purpose stays so far from the edges, mm. */
const MARGIN_MM = 25;
/**
 * And so near to the origin, mm: a sheet that leans by 0.05 along X and 0.03 along Y lies 17 mm high there, with a wave and a bow
 * 22 mm, below the 25 mm at which the torch of the default setup stands at power-up.
 */
const REACH_X_MM = 270;
const REACH_Y_MM = 140;
/** Chance that a contour holds a feed hold; that the torch goes off in the middle of a straight cut and the table runs on. */
const WITH_FEED_HOLD = 0.15;
const WITH_EARLY_OFF = 0.2;
/** Streams of programs begin here, beyond those of the cases. */
const FIRST_STREAM = 0x40000000;

/**
 * The program of a case that has none given: the same on every machine.
 * @param seed of the campaign @param index of the case, below 2³⁰
 */
export function drawnProgram(
  seed: number,
  index: number,
  sheet: Sheet,
): { readonly name: string; readonly text: string } {
  const pen = new Pen(new Random(seed, FIRST_STREAM + index), sheet);
  const [kind, cut] = KINDS[pen.below(KINDS.length)]!;
  cut(pen);
  const text = ['G21 G90 G17', ...pen.lines, 'G4 P1', 'M30', ''].join('\n');
  return { name: `drawn-${index}-${kind}.nc`, text };
}

/** Straight pieces with sharp corners and changes of feed. */
function polyline(pen: Pen): void {
  pen.start(pen.feed());
  while (!pen.done) {
    if (pen.chance(0.3)) pen.setFeed(pen.feed());
    pen.turn(pen.between(20, 170) * (pen.chance(0.5) ? 1 : -1));
    pen.line(pen.between(5, 80));
  }
  pen.end();
}

/** Arcs and straight pieces that go on into each other, now and then with a corner between them. */
function curve(pen: Pen): void {
  pen.start(pen.feed());
  while (!pen.done) {
    if (pen.chance(0.2)) pen.setFeed(pen.feed());
    if (pen.chance(0.2)) pen.turn(pen.between(-120, 120));
    if (pen.chance(0.4)) pen.line(pen.between(5, 60));
    else pen.arc(pen.between(2, 60), pen.between(30, 270) * (pen.chance(0.5) ? 1 : -1));
  }
  pen.end();
}

/** Holes with a lead-in from the middle, and some overlap. */
function holes(pen: Pen): void {
  do {
    const radius_mm = pen.between(HOLE_LEAST_MM, HOLE_MOST_MM) / 2;
    pen.start(Math.min(pen.feed(), 3000));
    pen.line(radius_mm);
    pen.turn(90);
    pen.arc(radius_mm, 360);
    pen.arc(radius_mm, pen.between(2, 30));
    pen.end();
  } while (!pen.done && pen.contours < 3);
}

/** A wavy curve in pieces of 0.2 mm, as drawing programs write splines. */
function spline(pen: Pen): void {
  pen.start(pen.feed());
  let bend = 0;
  while (!pen.done) {
    // The curvature wanders; its radius stays above 3 mm.
    bend += pen.between(-0.02, 0.02);
    bend = Math.min(1 / 3, Math.max(-1 / 3, 0.995 * bend));
    pen.turn((bend * SPLINE_MM * 180) / Math.PI);
    pen.line(SPLINE_MM);
  }
  pen.end();
}

/** A straight cut to an edge of the sheet, that ends on it or runs off it; or along it, near. */
function edge(pen: Pen): void {
  const length_mm = pen.between(40, 150);
  if (pen.chance(0.3)) {
    pen.startAt(MARGIN_MM + pen.between(0, 60), pen.between(1, 6), 0, pen.feed());
    pen.line(length_mm, true);
  } else {
    pen.startAt(length_mm, pen.between(MARGIN_MM, REACH_Y_MM), 180, pen.feed());
    pen.line(length_mm + pen.between(-3, 0.8 * pen.sheet.run_off_mm), true);
  }
  pen.end();
}

/** A cut, and a second one across its kerf at any angle. */
function crossing(pen: Pen): void {
  pen.start(pen.feed());
  const [x_mm, y_mm] = pen.place;
  const length_mm = pen.between(40, 90);
  const heading = pen.heading;
  pen.line(length_mm);
  pen.end();
  const angle = pen.between(20, 160) * (pen.chance(0.5) ? 1 : -1);
  const before_mm = pen.between(15, 60);
  const [mx, my] = ahead(x_mm, y_mm, heading, length_mm / 2);
  const [sx, sy] = ahead(mx, my, heading + angle, -before_mm);
  pen.startAt(sx, sy, heading + angle, pen.feed());
  pen.line(before_mm + pen.between(10, 60));
  pen.end();
}

function ahead(x_mm: number, y_mm: number, heading: number, mm: number): [number, number] {
  const rad = (heading * Math.PI) / 180;
  return [x_mm + mm * Math.cos(rad), y_mm + mm * Math.sin(rad)];
}

const KINDS: readonly (readonly [kind: string, cut: (pen: Pen) => void])[] = [
  ['corners', polyline],
  ['arcs', curve],
  ['holes', holes],
  ['spline', spline],
  ['edge', edge],
  ['crossing', crossing],
];

/** Writes a program as it goes, and keeps to the sheet: a piece that would leave it turns back inwards. */
class Pen {
  readonly lines: string[] = [];
  contours = 0;
  heading = 0;
  private x_mm = 0;
  private y_mm = 0;
  private feed_mm_min = 0;
  private cut_s = 0;
  private burning = false;

  constructor(
    private readonly random: Random,
    readonly sheet: Sheet,
  ) {}

  /** The far ends of what is cut. */
  private get far_x_mm(): number {
    return Math.max(MARGIN_MM, Math.min(REACH_X_MM, this.sheet.width_mm - MARGIN_MM));
  }

  private get far_y_mm(): number {
    return Math.max(MARGIN_MM, Math.min(REACH_Y_MM, this.sheet.height_mm - MARGIN_MM));
  }

  get done(): boolean {
    return this.cut_s >= CUT_S;
  }

  get place(): readonly [number, number] {
    return [this.x_mm, this.y_mm];
  }

  below(count: number): number {
    return Math.floor(this.random.uniform() * count);
  }

  chance(share: number): boolean {
    return this.random.chance(share);
  }

  between(low: number, high: number): number {
    return this.random.between(low, high);
  }

  feed(): number {
    return Math.round(SLOWEST * (FASTEST / SLOWEST) ** this.random.uniform());
  }

  setFeed(mm_min: number): void {
    this.feed_mm_min = mm_min;
    this.lines.push(`F${mm_min}`);
  }

  /** A contour from anywhere on the sheet, in any direction. */
  start(feed_mm_min: number): void {
    const x_mm = this.between(MARGIN_MM, this.far_x_mm);
    const y_mm = this.between(MARGIN_MM, this.far_y_mm);
    this.startAt(x_mm, y_mm, this.between(0, 360), feed_mm_min);
  }

  startAt(x_mm: number, y_mm: number, heading: number, feed_mm_min: number): void {
    this.heading = heading;
    this.x_mm = inside(x_mm, 1, this.sheet.width_mm - 1);
    this.y_mm = inside(y_mm, 1, this.sheet.height_mm - 1);
    this.lines.push(`G0 X${mm(this.x_mm)} Y${mm(this.y_mm)}`);
    this.setFeed(feed_mm_min);
    this.lines.push('M3');
    this.contours++;
    this.burning = true;
  }

  turn(degrees: number): void {
    this.heading += degrees;
  }

  /** @param off_sheet may leave the sheet @returns nothing; a piece that would leave it goes the other way */
  line(length_mm: number, off_sheet = false): void {
    let [x, y] = ahead(this.x_mm, this.y_mm, this.heading, length_mm);
    for (let turned = 0; !off_sheet && !this.on(x, y) && turned < 12; turned++) {
      this.heading += 30;
      [x, y] = ahead(this.x_mm, this.y_mm, this.heading, length_mm);
    }
    if (this.burning && length_mm > 20 && this.chance(WITH_FEED_HOLD)) {
      const [hx, hy] = ahead(this.x_mm, this.y_mm, this.heading, length_mm * this.between(0.2, 0.8));
      this.lines.push(`G1 X${mm(hx)} Y${mm(hy)}`, `G4 P${this.between(0.1, 1.5).toFixed(2)}`);
    }
    this.moveTo(x, y, length_mm, `G1 X${mm(x)} Y${mm(y)}`);
  }

  /** Leaves the heading along the tangent at its end. @param degrees swept; positive turns to the left */
  arc(radius_mm: number, degrees: number): void {
    const side = Math.sign(degrees);
    const [cx, cy] = ahead(this.x_mm, this.y_mm, this.heading + 90 * side, radius_mm);
    const [x, y] =
      Math.abs(degrees) === 360 ? [this.x_mm, this.y_mm] : ahead(cx, cy, this.heading - 90 * side + degrees, radius_mm);
    const room = Math.max(0, radius_mm - MARGIN_MM / 2);
    if (!this.on(cx - room, cy - room) || !this.on(cx + room, cy + room)) {
      this.line(radius_mm);
      return;
    }
    this.heading += degrees;
    const code = side > 0 ? 'G3' : 'G2';
    const length_mm = (Math.abs(degrees) * Math.PI * radius_mm) / 180;
    // The centre from the rounded start, with one more digit: the two radii must agree.
    const offset = `I${(cx - Number(mm(this.x_mm))).toFixed(5)} J${(cy - Number(mm(this.y_mm))).toFixed(5)}`;
    this.moveTo(x, y, length_mm, `${code} X${mm(x)} Y${mm(y)} ${offset}`);
  }

  /** The torch goes off: at the end of the contour, or before, and the table runs on. */
  end(): void {
    this.lines.push('M5');
    this.burning = false;
    if (this.chance(WITH_EARLY_OFF)) this.line(this.between(5, 30));
    else this.lines.push('G4 P1');
  }

  private moveTo(x_mm: number, y_mm: number, length_mm: number, text: string): void {
    this.lines.push(text);
    this.x_mm = x_mm;
    this.y_mm = y_mm;
    this.cut_s += (60 * length_mm) / this.feed_mm_min;
  }

  private on(x_mm: number, y_mm: number): boolean {
    return x_mm >= MARGIN_MM && x_mm <= this.far_x_mm && y_mm >= MARGIN_MM && y_mm <= this.far_y_mm;
  }
}

const inside = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));
const mm = (value: number) => value.toFixed(4);
