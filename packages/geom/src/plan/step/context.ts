import { certain, type Uncertain } from '../../construct/propagate.js';
import type { Feature } from '../../feature/feature.js';
import type { Fit } from '../../fit/fit.js';
import { type Frame, scanFrame } from '../../math/frame.js';
import type { ScanNoise } from '../../noise/scan-noise.js';
import type { Points, Scan } from '../../scan/scan.js';
import { profileOf } from '../../section/outline/profile.js';
import type { Section } from '../../section/section.js';
import { noiseOfPlan } from './noise-of-plan.js';
import type { StepOutcome } from './outcome.js';
import { PointNormals } from './point-normals.js';
import type { Row } from './row.js';
import type { Scanner } from './scanner.js';

/** What a step did: its outcome, its row on the job sheet, and what later steps need of it beyond that. */
export interface Done<O extends StepOutcome = StepOutcome> {
  readonly outcome: O;
  /** Its row, coordinates in a frame; without one, no coordinates. Steps that give no numbers have none. */
  row?(frame: Uncertain<Frame> | undefined): Row;
  /** A feature, a frame or a section's plane with what it goes back to. */
  readonly uncertain?: Uncertain<Feature> | Uncertain<Frame>;
  /** Of a fit: the points it was made to, those it used selected. */
  readonly points?: Points;
  /** Of a fit: the sizes measured by hand it took, by the ids of their steps. */
  readonly taken?: readonly (readonly [size: string, taken: SizeTaken])[];
  /** Of a fit: the noise of the scan its uncertainty allows for. */
  readonly noise?: ScanNoise;
  /** Of a fit: whether it is a hole, not a shaft; undefined where the scan does not tell. */
  isHole?(): boolean | undefined;
}

/** A fit that took a size measured by hand, beside what its points alone say. */
export interface SizeTaken {
  /** Id of the fit. */
  readonly by: string;
  /** In the sense of the size: of a diameter the diameter, mm. */
  readonly free: number;
  /** Their difference in combined standard uncertainties. */
  readonly multiples: number;
  /** Past so many they disagree. */
  readonly factor: number;
}

const scanAxes = certain(scanFrame);

/** What a step finds when its turn comes. The plan was checked: every id it asks for is there and of the right kind. */
export class Context {
  /** As the steps so far have prepared it. */
  scan: Scan;
  /** What is known of it, its scale as the steps so far have left it. */
  scanner: Scanner | undefined;
  normals: PointNormals;
  profileOf = profileOf;
  /** Of the scan as it is now, once a step asked for it. */
  #noise: ScanNoise | undefined;
  readonly #given: Scan;
  readonly #normals = new WeakMap<Scan, PointNormals>();
  /** The fits to it, not those to what it was before points went or moved. */
  readonly fits: { readonly fit: Fit<Feature>; readonly points: Points }[] = [];
  readonly #taken = new Map<string, SizeTaken[]>();
  readonly #done = new Map<string, Done>();

  constructor(scan: Scan) {
    this.#given = scan;
    this.scan = scan;
    this.normals = this.#normalsOf(scan);
  }

  /** Goes back to before the first step. */
  begin(scanner: Scanner | undefined, find = profileOf): void {
    this.profileOf = find;
    this.#noise = undefined;
    this.scan = this.#given;
    this.scanner = scanner;
    this.normals = this.#normalsOf(this.#given);
    this.fits.length = 0;
    this.#taken.clear();
    this.#done.clear();
  }

  add(done: Done): void {
    this.#done.set(done.outcome.id, done);
    const { outcome, points, taken = [] } = done;
    for (const [size, by] of taken) this.#taken.set(size, [...this.takersOf(size), by]);
    if (outcome.kind === 'fit' && points) this.fits.push({ fit: outcome.fit, points });
    if (outcome.kind !== 'prepare') return;
    this.#setScan(outcome.prepared.scan);
    if (outcome.length?.applied) this.scanner = scaledTo(outcome.length.standard, this.scanner);
  }

  /** Takes back what a step did that changed nothing for others. */
  takeBack(id: string): void {
    this.#done.delete(id);
  }

  #setScan(scan: Scan): void {
    if (scan === this.scan) return;
    if (scan.positions !== this.scan.positions) {
      this.fits.length = 0;
      this.#noise = undefined;
    }
    this.scan = scan;
    this.normals = this.#normalsOf(scan);
  }

  /** The noise of the scan as it is now. */
  get noise(): ScanNoise {
    this.#noise ??= noiseOfPlan(this.scan, this.scanner);
    return this.#noise;
  }

  #normalsOf(scan: Scan): PointNormals {
    const found = this.#normals.get(scan) ?? new PointNormals(scan);
    this.#normals.set(scan, found);
    return found;
  }

  /** What a step did; undefined where it did not come to that. */
  done(id: string): Done | undefined {
    return this.#done.get(id);
  }

  #find(id: string): Done {
    const done = this.#done.get(id);
    if (done === undefined) throw unchecked(id, 'the id of no step before this one');
    return done;
  }

  feature(id: string): Uncertain<Feature> {
    const { outcome, uncertain } = this.#find(id);
    if (outcome.kind !== 'fit' && outcome.kind !== 'construct') throw unchecked(id, `a ${outcome.kind}, not a feature`);
    return uncertain as Uncertain<Feature>;
  }

  /** A frame by its id; the scan's own axes without one. */
  frame(id: string | undefined): Uncertain<Frame> {
    if (id === undefined || id === 'scan') return scanAxes;
    const { outcome, uncertain } = this.#find(id);
    if (outcome.kind !== 'frame') throw unchecked(id, `a ${outcome.kind}, not a frame`);
    return uncertain as Uncertain<Frame>;
  }

  /** The points of a region; undefined for the word `all`. */
  region(id: string): Uint32Array | undefined {
    if (id === 'all') return undefined;
    const { outcome } = this.#find(id);
    if (outcome.kind !== 'region') throw unchecked(id, `a ${outcome.kind}, not a region`);
    return outcome.select;
  }

  /** A region by its id with all that is known of it; undefined for the word `all` and the id of something else. */
  regionOutcome(id: string): Extract<StepOutcome, { kind: 'region' }> | undefined {
    if (id === 'all') return undefined;
    const { outcome } = this.#find(id);
    return outcome.kind === 'region' ? outcome : undefined;
  }

  /** A section by its id, with its plane; undefined if the id is of something else. */
  section(id: string): { readonly section: Section; readonly plane: Uncertain<Feature> } | undefined {
    if (id === 'all') return undefined;
    const { outcome, uncertain } = this.#find(id);
    return outcome.kind === 'section'
      ? { section: outcome.section, plane: uncertain as Uncertain<Feature> }
      : undefined;
  }

  /** Whether a feature has its size from the plan instead of from the scan. */
  hasGivenSize(id: string): boolean {
    const { outcome } = this.#find(id);
    return outcome.kind === 'fit' && (outcome.fit.known ?? []).some(({ name }) => name === 'radius');
  }

  /** A size measured by hand, mm, with its ± where one is stated. */
  handSize(id: string): { readonly value: number; readonly uncertainty?: number } {
    const { outcome } = this.#find(id);
    if (outcome.kind !== 'by-hand') throw unchecked(id, `a ${outcome.kind}, not a size measured by hand`);
    const { value, uncertainty } = outcome.value;
    return { value, ...(uncertainty !== undefined && { uncertainty }) };
  }

  /** The fits so far that took a size measured by hand. */
  takersOf(id: string): readonly SizeTaken[] {
    return this.#taken.get(id) ?? [];
  }

  /** The points a fit used; undefined for features that were constructed. */
  points(id: string): Points | undefined {
    return this.#find(id).points;
  }
}

/** Of a scan scaled to a known length: the standard uncertainty of that, as the bound that a scanner would state. */
const scaledTo = (standard: number, scanner: Scanner | undefined): Scanner | undefined =>
  scanner === undefined && standard === 0
    ? undefined
    : { ...scanner, accuracy: scanner?.accuracy ?? 0, perMeter: 1000 * Math.sqrt(3) * standard };

const unchecked = (id: string, what: string): TypeError => new TypeError(`"${id}" is ${what}: was the plan checked?`);
