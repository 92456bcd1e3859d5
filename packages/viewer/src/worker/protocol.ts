import type {
  Bounds,
  Feature,
  Plan,
  RegionStep,
  ShapeSuggestion,
  SheetRow,
  SheetValue,
  Step,
  StepName,
  Vec3,
  Warning,
} from '@fettle/geom';
import type { LengthUnit, ScanSource, UnitOffer } from '@fettle/io';

/**
 * What the page asks of its worker. The worker holds the scan and runs the plan; the page holds the plan and what it shows.
 * Everything that crosses is plain data; large arrays are handed over, not copied. Coordinates are in scan axes, mm, unless said.
 * A promise is rejected with an {@link Refusal} where the library throws a FettleError.
 */
export interface Measurer {
  /** Reads a file. `onProgress` gets bytes so far and in all. Rejected with `aborted` after {@link cancelOpening}. */
  open(file: Blob, options: OpenOptions, onProgress: (bytes: number, total?: number) => void): Promise<OpenedScan>;
  /** The demo: a scan of the invented pump, fetched from beside the page. */
  openPump(onProgress: (share: number) => void): Promise<OpenedScan>;
  cancelOpening(): Promise<void>;

  /** Runs a plan, only the steps that changed or rest on changed ones. A step that fails does not stop those that do not need it. */
  run(plan: Plan): Promise<RunView>;
  /** The points of a region, or those a fit used, by their numbers; with the signed residuals of a fit, mm. */
  points(id: string): Promise<PointsView>;

  /** Where a ray meets the scan. */
  pick(ray: Ray): Promise<Pick | undefined>;
  /**
   * Where a ray meets the scan, and what growing from there would choose, as far as that comes within so many ms: for a preview while the
   * pointer moves. Without a time all of it. Later calls make earlier ones moot.
   */
  glimpse(ray: Ray, grow: GrowLimits, within?: number): Promise<Glimpse | undefined>;
  /** A region that is not in the plan yet: its steps in order, the last of which is the region. Later calls make earlier ones moot. */
  choose(steps: readonly RegionStep[]): Promise<ChoiceView>;
  /** What could be fitted to it. */
  suggest(steps: readonly RegionStep[]): Promise<Suggested>;
  /**
   * Steps tried on top of the plan without being part of it: a fit beside the pointer, a frame or a section while it is dragged. What
   * the last of them gives; later calls by the same part of the page make earlier ones moot.
   */
  tryStep(plan: Plan, steps: readonly Step[], by: TrialBy): Promise<StepView>;
  /**
   * The outlines of a section of the plan as lines and arcs, within a tolerance, mm (undefined: as their own noise tells); one whose
   * profile the section's step asks for, as asked there. Outlines too short to tell are left out. Later calls make earlier ones moot.
   */
  profile(plan: Plan, section: string, tolerance: number | undefined): Promise<ProfileView>;
  /** Everything that can be built or measured between the steps named, with its values, in the order of the trade's use. */
  relations(plan: Plan, ids: readonly string[]): Promise<readonly Relation[]>;

  /** Files as the plan's `deliver` steps would write them: of one step given here, or of all in the plan. */
  deliver(plan: Plan, what: DeliverRequest, onProgress: (file: string) => void): Promise<readonly DeliveredFile[]>;
}

/** The part of the page that tries a step. */
export type TrialBy = 'draft' | 'cut' | 'stretch' | 'frame';

export interface OpenOptions {
  readonly name: string;
  readonly units?: LengthUnit;
  readonly keepWhole?: boolean;
}

/** A FettleError, or any other error, on its way between worker and page. */
export interface Refusal {
  readonly code: string;
  readonly message: string;
  /** Id of the step it happened in, where there is one; of one that waits for another, that other's. */
  readonly step?: string;
}

export interface OpenedScan {
  readonly name: string;
  readonly source: ScanSource;
  /** SHA-256 of the file's bytes, hex; absent for the demo. */
  readonly sha256?: string;
  readonly points: number;
  readonly triangles: number;
  readonly bounds: Bounds;
  /** Where the extent is hard to believe in the unit the file was read in: the units that would make it plausible, if any. */
  readonly otherUnits?: readonly UnitOffer[];
  readonly warnings: readonly Warning[];
  readonly surface: DrawnSurface;
  /** With fewer triangles, for drawing while the view moves; absent where the scan is small enough. */
  readonly reduced?: DrawnSurface;
}

/** A scan for drawing, in single precision about an origin. */
export interface DrawnSurface {
  readonly origin: Vec3;
  /** xyz xyz … from the origin, mm. */
  readonly positions: Float32Array;
  /** Absent for clouds. */
  readonly triangles?: Uint32Array;
  /** xyz xyz …, ±127 is unit length. */
  readonly normals: Int8Array;
  /** rgb rgb …, 0 to 255. */
  readonly colors?: Uint8Array;
  /** Of a reduced surface: number of the scan's point each of its points is. */
  readonly points?: Uint32Array;
}

/** A plan's results as the page shows them. */
export interface RunView {
  /** One a step, in plan order. */
  readonly steps: readonly StepView[];
  readonly passed: boolean;
  readonly warnings: readonly Warning[];
}

export interface StepView {
  readonly id: string;
  readonly step: StepName;
  /** Why it gives nothing: its own error, or the step it waits for. */
  readonly refusal?: Refusal;
  /** Of a trial: set when a later one was asked for before this one was done; there is nothing else then. */
  readonly moot?: true;
  /** Its row on the job sheet. */
  readonly row?: SheetRow;
  /** Of a fit or construction. */
  readonly feature?: Feature;
  /** Where the feature's data lie: what is to be drawn of it. */
  readonly drawn?: DrawnFeature;
  /** Of a region or a fit. */
  readonly count?: number;
  /** Of a region on a mesh, mm². */
  readonly area?: number;
  /** Of a fit to points of the scan: those it rejected. */
  readonly rejected?: Uint32Array;
  /** Of a frame: frame to scan, column-major 4×4. */
  readonly matrix?: Float64Array;
  readonly section?: SectionView;
  /** Ends of a measured distance. */
  readonly between?: readonly [Vec3, Vec3];
}

/** Lines that show a feature, and where its balloon points to. */
export interface DrawnFeature {
  readonly anchor: Vec3;
  /** Polylines, xyz xyz … each: outlines of planes, rims of cylinders, axes. */
  readonly lines: readonly Float32Array[];
}

export interface SectionView {
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  readonly normal: Vec3;
  readonly polylines: readonly {
    readonly closed: boolean;
    /** xyz xyz …, from nowhere but the scan's own zero, mm. */
    readonly points: Float64Array;
    /** xy xy … in the section's axes, mm. */
    readonly flat: Float64Array;
  }[];
  /** Of a cloud: its points near the plane, laid onto it, xyz xyz …, mm. */
  readonly cloud?: Float64Array;
}

export interface ProfileView {
  readonly pieces: readonly PieceView[];
  /** Where two lines meet in a corner. */
  readonly corners: readonly CornerView[];
  /** Set when a later profile was asked for before this one was done; there is nothing else then. */
  readonly moot?: true;
}

/** A line or an arc of a section's outline. Coordinates in scan axes, mm. */
export interface PieceView {
  readonly kind: 'line' | 'arc';
  /** On the job sheet, where the section's step asks for this outline's profile. */
  readonly number?: number;
  /** Which of the section's polylines it is part of, and whether it is all of it: a full circle. */
  readonly polyline: number;
  readonly isWhole: boolean;
  /** Ends of the piece as drawn, where it meets its neighbors. */
  readonly start: Vec3;
  readonly end: Vec3;
  /** First and last of the section's points that it holds to, and whether the way between them is the longer one around. */
  readonly first: Vec3;
  readonly last: Vec3;
  readonly isLongWay: boolean;
  /** The piece as a line to draw, xyz xyz …. */
  readonly line: Float64Array;
  /** Along it, mm. */
  readonly length: number;
  /** Of an arc. */
  readonly center?: Vec3;
  readonly radius?: number;
  /** Radius of an arc, diameter of a whole circle, with the ± its points give it. */
  readonly size?: SheetValue;
  /** Of the section's points from it, mm. */
  readonly rms: number;
  readonly max: number;
}

export interface CornerView {
  readonly at: Vec3;
  /** Unit, from the corner along either line. */
  readonly along: readonly [Vec3, Vec3];
  /** Between the lines, radians. */
  readonly angle: number;
  /** The same in degrees, with the ± its points give it. */
  readonly size: SheetValue;
}

export interface PointsView {
  readonly points: Uint32Array;
  /** Of a fit. */
  readonly residuals?: Float32Array;
  /** Points a fit rejected. */
  readonly rejected?: Uint32Array;
}

export interface Ray {
  readonly from: Vec3;
  readonly direction: Vec3;
  /** For clouds: how near the ray must pass, mm. */
  readonly reach?: number;
}

/** Degrees from point to point and overall. */
export interface GrowLimits {
  readonly turn: number;
  readonly spread: number;
}

export interface Glimpse extends Pick {
  readonly points: Uint32Array;
  /** Set when growing would go on beyond these points. */
  readonly isPart?: true;
  /** Set when a later one was asked for before this one was done; `points` is then empty. */
  readonly moot?: true;
}

export interface Pick {
  readonly position: Vec3;
  /** Toward the eye. */
  readonly normal: Vec3;
}

export interface ChoiceView {
  readonly points: Uint32Array;
  readonly count: number;
  /** mm²; absent for clouds. */
  readonly area?: number;
  /** Largest angle between the surface's normals and their mean, radians. */
  readonly spread: number;
  /** Set when a later choice was asked for before this one was done; `points` is then empty. */
  readonly moot?: true;
}

export interface Suggested {
  readonly suggestion: ShapeSuggestion;
}

/** Something that can be built or measured between rows: the step that would do it, and what it gives. */
export interface Relation {
  readonly step: Step;
  readonly words: string;
  readonly view: StepView;
}

export type DeliverRequest =
  | 'all'
  | 'plan'
  | 'results'
  | 'job-sheet'
  | 'report'
  | 'cad'
  | 'scan'
  | { readonly drawing: string }
  /** The scan in the plan's last frame, whatever the plan itself asks for; with fewer triangles where a number is given. */
  | { readonly scan: ScanFile };

export interface ScanFile {
  readonly format: 'ply' | 'obj' | 'stl' | '3mf';
  /** Of the file. Default: mm. */
  readonly units?: LengthUnit;
  readonly triangles?: number;
}

export interface DeliveredFile {
  readonly name: string;
  readonly type: string;
  readonly bytes: Uint8Array;
}
