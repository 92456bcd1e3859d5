import { FettleError } from '../error.js';
import type { Vec2 } from '../math/vec2.js';
import { adjust, type Constraint, disagreement, disagreementUncertainty } from './profile-constraint.js';
import { type FlatFit, fitFlat } from './profile-fit.js';
import { type Join, joinOf, type Side } from './profile-join.js';
import { correlationInflation, outlineNoise } from './profile-noise.js';
import { type FlatShape, flatDistance, freedoms, nearestOn } from './profile-shape.js';
import { lossOf, type Outline, type Stretch, splitOutline } from './profile-split.js';
import type { Polyline, Section } from './section.js';

export interface ProfileOptions {
  /** Departures up to this much are no reason for another piece, mm. Default 0.02; the scan's own noise is found and added. */
  readonly tolerance?: number;
  /** Shortest piece looked for, mm. Default: nine times the spacing of the section's points. */
  readonly shortest?: number;
  /**
   * An arc between two lines of which less than this lies off both lines is how the scan rounds a sharp corner, mm.
   * Default: half the shortest piece.
   */
  readonly sharp?: number;
}

interface PieceBase {
  /** Ends, where it meets its neighbors, in the section's axes, mm. */
  readonly start: Vec2;
  readonly end: Vec2;
  /** Along it, mm. */
  readonly length: number;
  /** First point of the polyline, and one past its last; past the end of a closed polyline, indices run on. */
  readonly from: number;
  readonly to: number;
  /** Of its own points, from the shape as it stands in the profile, mm. */
  readonly rms: number;
  readonly max: number;
  /** The shape its own points alone give, before any constraint. */
  readonly free: FlatShape;
}

export interface ProfileLine extends PieceBase {
  readonly kind: 'line';
  readonly shape: Extract<FlatShape, { kind: 'line' }>;
}

export interface ProfileArc extends PieceBase {
  readonly kind: 'arc';
  readonly shape: Extract<FlatShape, { kind: 'arc' }>;
  /** From start to end, radians: counterclockwise positive. */
  readonly sweep: number;
}

export type ProfilePiece = ProfileLine | ProfileArc;

/** A section's outline as a chain of lines and arcs. */
export interface Profile {
  readonly closed: boolean;
  readonly pieces: readonly ProfilePiece[];
  /** Between each piece and the next; of a closed profile the last one leads back to the first piece. */
  readonly joins: readonly Join[];
  /** Noise of the outline across itself, standard deviation, mm. */
  readonly noise: number;
  /** Constraints that hold exactly, tangencies the data support among them. */
  readonly constraints: readonly Constraint[];
  /** Enclosed area, mm², and its centroid, in the section's axes; of a closed profile without gaps. */
  readonly area?: number;
  readonly centroid?: Vec2;
}

/**
 * The chain of lines and arcs that holds an outline within tolerance with the fewest pieces (see {@link splitOutline}), each
 * fitted to its points, neighbors made tangent where their fits agree with tangency within three standard uncertainties,
 * corners where neighbors cross.
 *
 * The scan's noise, with how far neighboring points err together, is found from the outline itself and found again from the
 * pieces' residuals until both agree.
 *
 * @param section a section with polylines
 * @param index which polyline
 * @throws FettleError `profile-too-short` for an outline of fewer points than three pieces need; `constraints-conflict`
 */
export function profileOf(section: Section, index = 0, options: ProfileOptions = {}): Profile {
  const polyline = section.polylines[index];
  if (!polyline)
    throw new FettleError(
      'profile-no-polyline',
      `polyline ${index}: the section has ${section.polylines.length}. Name one from 0 to ${section.polylines.length - 1}.`,
    );
  const outline = outlineOf(polyline);
  const n = outline.flat.length / 2;
  if (n < 12)
    throw new FettleError(
      'profile-too-short',
      `The outline has ${n} points; a profile needs 12 or more. Cut where the scan is denser, or fit a line or circle by hand.`,
    );
  const spacing = medianSpacing(outline);
  const minimumPoints = Math.max(6, Math.round((options.shortest ?? 9 * spacing) / spacing));
  const floor = (options.tolerance ?? 0.02) / 3;

  let noise = outlineNoise(outline);
  let sigma = Math.max(noise, floor);
  let fits: PieceFit[] = [];
  for (let pass = 0; pass < 4; pass++) {
    fits = splitOutline(outline, sigma, minimumPoints).map((s) => fitPiece(outline, s, minimumPoints));
    const runs = fits.map((f) => f.residuals);
    const freedom = runs.reduce((sum, r) => sum + r.length, 0) - fits.reduce((sum, f) => sum + freedoms(f.shape), 0);
    noise = Math.sqrt(runs.reduce((sum, r) => sum + r.reduce((q, e) => q + e * e, 0), 0) / freedom);
    const next = Math.max(noise * Math.sqrt(correlationInflation(runs)), floor);
    const settled = Math.abs(next / sigma - 1) < 0.1;
    sigma = next;
    if (settled) break;
  }
  const withNoise = (f: PieceFit): PieceFit => ({
    ...f,
    shape: { ...f.shape, covariance: f.shape.covariance.map((c) => c * sigma * sigma) },
  });
  const sharp = Math.round((options.sharp ?? (minimumPoints * spacing) / 2) / spacing);
  let pieces = withoutRoundings(fits.map(withNoise), outline, sharp, sigma);
  let profile = assemble(pieces, outline, noise, tangencies(pieces, polyline.closed));
  // Breaks stand where noise liked them best, which flatters the fits beside them; joins of fitted shapes are indifferent.
  for (let pass = 0; pass < 3; pass++) {
    pieces = stretchesByJoins(profile, outline, minimumPoints, sigma).map((s) =>
      withNoise(fitPiece(outline, s, minimumPoints)),
    );
    pieces = withoutRoundings(pieces, outline, sharp, sigma);
    profile = assemble(pieces, outline, noise, tangencies(pieces, polyline.closed));
  }
  return profile;
}

/** Without the arcs between two lines that are the scan's rounding of a sharp corner: few of their points lie off both lines. */
function withoutRoundings(
  pieces: readonly PieceFit[],
  { flat, closed }: Outline,
  sharp: number,
  sigma: number,
): PieceFit[] {
  const count = pieces.length;
  const n = flat.length / 2;
  const neighbor = (k: number): PieceFit | undefined => (closed ? pieces[(k + count) % count] : pieces[k]);
  const isRounding = ({ shape, from, to }: PieceFit, k: number): boolean => {
    const lines = [neighbor(k - 1)?.shape, neighbor(k + 1)?.shape];
    if (shape.kind !== 'arc' || !lines.every((l) => l?.kind === 'line')) return false;
    let off = 0;
    for (let p = from; p < to; p++) {
      const q = 2 * (p % n);
      if (lines.every((l) => Math.abs(flatDistance(l!, flat[q], flat[q + 1])) > 3 * sigma)) off++;
    }
    return off < sharp;
  };
  return count < 3 ? [...pieces] : pieces.filter((p, k) => !isRounding(p, k));
}

/**
 * The pieces' stretches with each break at the point nearest the join, where that leaves both pieces long enough and what
 * they leave does not grow past chance (χ² of one freedom, once in a thousand).
 */
function stretchesByJoins(
  { pieces, joins }: Profile,
  outline: Outline,
  minimumPoints: number,
  sigma: number,
): Stretch[] {
  const { flat } = outline;
  const n = flat.length / 2;
  const stretches = pieces.map(({ from, to, kind }) => ({ from, to, shape: kind }));
  joins.forEach(({ kind, at }, i) => {
    if (kind === 'gap') return;
    const j = (i + 1) % pieces.length;
    const [before, after] = [stretches[i], stretches[j]];
    const lap = before.to - after.from;
    // The points of a rounded corner between them belong to neither.
    if (lap % n !== 0) return;
    const high = after.to + lap - minimumPoints;
    let best = before.to;
    let least = Number.POSITIVE_INFINITY;
    for (let b = before.from + minimumPoints; b <= high; b++) {
      const far = Math.hypot(flat[2 * (b % n)] - at[0], flat[2 * (b % n) + 1] - at[1]);
      if (far < least) {
        least = far;
        best = b;
      }
    }
    const lossAt = (b: number) =>
      lossOf(outline, before.shape, before.from, b) + lossOf(outline, after.shape, b, after.to + lap);
    if (lossAt(best) - lossAt(before.to) > 10.8 * sigma * sigma) return;
    stretches[i] = { ...before, to: best };
    stretches[j] = { ...after, from: best - lap };
  });
  return stretches;
}

/**
 * The profile with further constraints holding exactly. `strain` is what that costs: the squared shift in standard
 * uncertainties, to be compared with `count` conditions; the pieces' rms show it in mm.
 *
 * @throws FettleError `constraint-pieces`, `constraints-conflict`
 */
export function constrain(
  profile: Profile,
  section: Section,
  index: number,
  constraints: readonly Constraint[],
): Profile & { readonly strain: number; readonly count: number } {
  const polyline = section.polylines[index];
  const fits = profile.pieces.map((p) => ({ from: p.from, to: p.to, shape: p.free }));
  const all = [...profile.constraints, ...constraints];
  const { strain, count } = adjust(
    fits.map((f) => f.shape),
    all,
  );
  return { ...assemble(fits, outlineOf(polyline), profile.noise, all), strain, count };
}

/** A constraint the data do not speak against, and what it would cost. */
export interface Offer {
  readonly constraint: Constraint;
  /** Largest disagreement now, mm or radians, and its expanded uncertainty (95 %). */
  readonly disagreement: number;
  readonly uncertainty: number;
  /** How much the rms of the pieces concerned would rise together, mm. */
  readonly cost: number;
}

/** Constraints within their uncertainty (coverage factor 2): parallel, square, equal radius, concentric, horizontal, vertical. */
export function offers(profile: Profile, section: Section, index: number): Offer[] {
  const shapes = profile.pieces.map((p) => p.shape);
  const found: Constraint[] = [];
  for (let i = 0; i < shapes.length; i++) {
    if (shapes[i].kind === 'line')
      for (const kind of ['horizontal', 'vertical'] as const) found.push({ kind, pieces: [i] });
    for (let j = i + 1; j < shapes.length; j++) {
      if (shapes[i].kind !== shapes[j].kind) continue;
      const kinds =
        shapes[i].kind === 'line' ? (['parallel', 'square'] as const) : (['equal-radius', 'concentric'] as const);
      for (const kind of kinds) found.push({ kind, pieces: [i, j] });
    }
  }
  return found.flatMap((constraint) => {
    const off = disagreement(constraint, shapes);
    const standard = disagreementUncertainty(constraint, shapes);
    if (!off.every((d, k) => Math.abs(d) <= 2 * standard[k])) return [];
    const worst = off.reduce((w, d, k) => (Math.abs(d) > Math.abs(off[w]) ? k : w), 0);
    const rms = (p: Profile) => Math.sqrt(constraint.pieces.reduce((s, k) => s + p.pieces[k].rms ** 2, 0));
    const cost = rms(constrain(profile, section, index, [constraint])) - rms(profile);
    return [{ constraint, disagreement: off[worst], uncertainty: 2 * standard[worst], cost }];
  });
}

interface Piece {
  readonly from: number;
  readonly to: number;
  readonly shape: FlatShape;
}

type PieceFit = Piece & FlatFit;

function fitPiece(outline: Outline, { from, to, shape }: Stretch, minimumPoints: number): PieceFit {
  // The points beside a break may belong to the neighbor, or to the rounding of a corner.
  const spare = Math.max(0, Math.min(2, Math.floor((to - from - minimumPoints) / 2)));
  const fit = fitFlat(outline, shape, from + spare, to - spare) ?? fitFlat(outline, 'line', from + spare, to - spare)!;
  return { from, to, ...fit };
}

/** Standard uncertainties: a line and an arc that follow each other are tangent unless the data speak clearly against it. */
const TANGENT_WITHIN = 3;

function tangencies(fits: readonly Piece[], closed: boolean): Constraint[] {
  const shapes = fits.map((f) => f.shape);
  const found: Constraint[] = [];
  for (let i = 0; i < fits.length - (closed && fits.length > 1 ? 0 : 1); i++) {
    const j = (i + 1) % fits.length;
    if (shapes[i].kind === 'line' && shapes[j].kind === 'line') continue;
    const constraint: Constraint = { kind: 'tangent', pieces: [i, j] };
    const [gap] = disagreement(constraint, shapes);
    const [standard] = disagreementUncertainty(constraint, shapes);
    if (Math.abs(gap) <= TANGENT_WITHIN * standard) found.push(constraint);
  }
  return holdingTogether(shapes, found);
}

/** Constraints in order, less those that cannot hold beside the ones before them. */
function holdingTogether(shapes: readonly FlatShape[], constraints: readonly Constraint[]): Constraint[] {
  const held = (some: readonly Constraint[]) => {
    try {
      adjust(shapes, some);
      return true;
    } catch (error) {
      if (error instanceof FettleError && error.code === 'constraints-conflict') return false;
      throw error;
    }
  };
  if (held(constraints)) return [...constraints];
  const kept: Constraint[] = [];
  for (const c of constraints) if (held([...kept, c])) kept.push(c);
  return kept;
}

function assemble(
  fits: readonly Piece[],
  outline: Outline,
  noise: number,
  constraints: readonly Constraint[],
): Profile {
  const { flat, closed } = outline;
  const { shapes } = adjust(
    fits.map((f) => f.shape),
    constraints,
  );
  const n = flat.length / 2;
  const pointAt = (i: number): Vec2 => [flat[2 * (i % n)], flat[2 * (i % n) + 1]];
  const sides: Side[] = fits.map((f, k) => ({
    shape: shapes[k],
    counterclockwise: isCounterclockwise(shapes[k], flat, f.from, f.to),
    length: pathLength(flat, f.from, f.to),
  }));
  const count = fits.length;
  const isLoop = closed && count > 1;
  const joins: Join[] = [];
  for (let i = 0; i < count - (isLoop ? 0 : 1); i++) {
    const j = (i + 1) % count;
    const [p, q] = [pointAt(fits[i].to - 1), pointAt(fits[j].from)];
    const tangent = constraints.some((c) => c.kind === 'tangent' && c.pieces.includes(i) && c.pieces.includes(j));
    joins.push(joinOf(sides[i], sides[j], [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2], tangent));
  }
  const endAt = (join: Join | undefined, k: number, point: Vec2): Vec2 =>
    join && join.kind !== 'gap' ? join.at : nearestOn(shapes[k], join ? join.at : point);
  const pieces = fits.map((f, k): ProfilePiece => {
    const before = isLoop ? joins[(k + count - 1) % count] : joins[k - 1];
    const start = endAt(before, k, pointAt(f.from));
    const end = closed && count === 1 ? start : endAt(joins[k], k, pointAt(f.to - 1));
    const base = { start, end, from: f.from, to: f.to, free: f.shape, ...residualsOf(shapes[k], flat, f.from, f.to) };
    const shape = shapes[k];
    if (shape.kind === 'line')
      return {
        kind: 'line',
        shape,

        ...base,
        length: Math.hypot(end[0] - start[0], end[1] - start[1]),
      };
    const sweep = closed && count === 1 ? fullTurn(sides[k]) : sweepOf(shape, start, end, sides[k].counterclockwise);
    return { kind: 'arc', shape, ...base, sweep, length: Math.abs(sweep) * shape.radius };
  });
  const whole = closed && joins.every((j) => j.kind !== 'gap') ? enclosed(pieces) : {};
  return Object.freeze({ closed, pieces, joins, noise, constraints, ...whole });
}

const fullTurn = (side: Side) => (side.counterclockwise ? 2 : -2) * Math.PI;

function sweepOf(
  shape: Extract<FlatShape, { kind: 'arc' }>,
  start: Vec2,
  end: Vec2,
  counterclockwise: boolean,
): number {
  const angle = (p: Vec2) => Math.atan2(p[1] - shape.center[1], p[0] - shape.center[0]);
  const turn = angle(end) - angle(start);
  const positive = ((turn % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
  return counterclockwise ? positive : positive - 2 * Math.PI;
}

function isCounterclockwise(shape: FlatShape, flat: Float64Array, from: number, to: number): boolean {
  if (shape.kind === 'line') return true;
  const n = flat.length / 2;
  let swept = 0;
  for (let i = from; i + 1 < to; i++) {
    const a = 2 * (i % n);
    const b = 2 * ((i + 1) % n);
    const [ax, ay] = [flat[a] - shape.center[0], flat[a + 1] - shape.center[1]];
    const [bx, by] = [flat[b] - shape.center[0], flat[b + 1] - shape.center[1]];
    swept += Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
  }
  return swept >= 0;
}

function residualsOf(shape: FlatShape, flat: Float64Array, from: number, to: number): { rms: number; max: number } {
  const n = flat.length / 2;
  let square = 0;
  let max = 0;
  for (let i = from; i < to; i++) {
    const off = flatDistance(shape, flat[2 * (i % n)], flat[2 * (i % n) + 1]);
    square += off * off;
    max = Math.max(max, Math.abs(off));
  }
  return { rms: Math.sqrt(square / (to - from)), max };
}

function pathLength(flat: Float64Array, from: number, to: number): number {
  const n = flat.length / 2;
  let length = 0;
  for (let i = from; i + 1 < to; i++) {
    const a = 2 * (i % n);
    const b = 2 * ((i + 1) % n);
    length += Math.hypot(flat[b] - flat[a], flat[b + 1] - flat[a + 1]);
  }
  return length;
}

/** Green's theorem over chords, and circular segments over them. */
function enclosed(pieces: readonly ProfilePiece[]): { area: number; centroid: Vec2 } {
  let twice = 0;
  let mx = 0;
  let my = 0;
  // Segments are added about their own centroids; a full circle is its own segment over a chord of no length.
  for (const piece of pieces) {
    const { start: a, end: b } = piece;
    const cross = a[0] * b[1] - a[1] * b[0];
    twice += cross;
    mx += (cross * (a[0] + b[0])) / 6;
    my += (cross * (a[1] + b[1])) / 6;
    if (piece.kind !== 'arc') continue;
    const { center, radius } = piece.shape;
    const s = piece.sweep;
    const segment = (radius * radius * (s - Math.sin(s))) / 2;
    const out = segment === 0 ? 0 : (4 * radius * Math.sin(Math.abs(s) / 2) ** 3) / (3 * Math.abs(s - Math.sin(s)));
    const middle = Math.atan2(a[1] - center[1], a[0] - center[0]) + s / 2;
    twice += 2 * segment;
    mx += segment * (center[0] + out * Math.cos(middle));
    my += segment * (center[1] + out * Math.sin(middle));
  }
  const area = twice / 2;
  return { area: Math.abs(area), centroid: [mx / area, my / area] };
}

/** Each point stands for half the way to either neighbor; weights average 1. */
function outlineOf({ flat, closed }: Polyline): Outline {
  const n = flat.length / 2;
  const weights = new Float64Array(n);
  let total = 0;
  for (let i = 0; i < n - (closed ? 0 : 1); i++) {
    const j = (i + 1) % n;
    const half = Math.hypot(flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]) / 2;
    weights[i] += half;
    weights[j] += half;
    total += 2 * half;
  }
  for (let i = 0; i < n; i++) weights[i] *= n / total;
  return { flat, weights, closed };
}

function medianSpacing({ flat, closed }: Outline): number {
  const n = flat.length / 2;
  const steps: number[] = [];
  for (let i = 0; i < n - (closed ? 0 : 1); i++) {
    const j = (i + 1) % n;
    steps.push(Math.hypot(flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]));
  }
  steps.sort((a, b) => a - b);
  return steps[steps.length >> 1];
}
