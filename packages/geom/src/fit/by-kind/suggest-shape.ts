import { determinant, Matrix } from 'ml-matrix';
import { FettleError } from '../../error.js';
import type { Cone, Cylinder, Plane, Sphere } from '../../feature/feature.js';
import { seededRandom } from '../../math/random.js';
import type { Points } from '../../scan/scan.js';
import { withArticle } from '../../text/in-words.js';
import { countText, lengthText } from '../../text/number-text.js';
import { associate } from '../associate/associate.js';
import type { Fit } from '../fit.js';
import { consensus, type Effort } from '../outliers/consensus.js';
import { cone } from '../shapes/cone.js';
import { cylinder } from '../shapes/cylinder.js';
import { sphere } from '../shapes/sphere.js';
import { fillResiduals, sumNormalEquations } from '../solve/normal-equations.js';
import { plane } from '../solve/plane-shape.js';
import { gatherPoints, type PointSet, subset } from '../solve/point-set.js';
import { samplePoints } from '../solve/sample.js';
import type { Shape } from '../solve/shape.js';
import { type Spread, spreadOf } from '../solve/spread.js';

export type SurfaceKind = 'plane' | 'sphere' | 'cylinder' | 'cone';

export interface ShapeCandidate {
  readonly kind: SurfaceKind;
  readonly feature: Plane | Sphere | Cylinder | Cone;
  /** Of the points that agree with it, mm. */
  readonly rms: number;
  /** Share of the points that agree with it. */
  readonly share: number;
  /** Smaller is better: see {@link suggestShape}. */
  readonly criterion: number;
}

export interface ShapeSuggestion {
  readonly kind: SurfaceKind;
  /** Undefined where the points are too few to tell, or determine no other shape but such as bend less than the noise. */
  readonly runnerUp?: SurfaceKind;
  /**
   * Criterion of the runner-up less that of the best, 0 where it is not larger or the points are too few to tell: under 2 the question is
   * open, from 6 on it is settled.
   */
  readonly by: number;
  readonly reason: string;
  /** Best first. */
  readonly candidates: readonly ShapeCandidate[];
}

/** Points looked at. */
const MOST = 2000;
const SEED = 4;
/**
 * Of the search for each shape: three of the four lose, and the best is carried on with all points looked at. 200 regions of every kind,
 * up to 40 % of their points strays, are called the same as by the thorough search, in 230 ms of processor time each instead of 700.
 */
const QUICK: Effort = { first: 40, few: 200, many: 400, kept: 16, share: 0.15 };
/** Points farther off than so many scales count as so far. */
const CUT = 3;
/** Differences of the criterion: hardly more than nothing, and strong (Kass & Raftery's scale). */
const OPEN = 2;
const SETTLED = 6;
/** Where the points bow away from the best: it may be a shape that is none of the four. */
const NEAREST_ONLY = 4;
/** A plane whose rms is no larger than the best by more than this share bends less than a third of the noise. */
const FLAT = 0.05;
/**
 * Pieces of noise below which no verdict is given, per parameter of the freest shape. Without it 13 of 25 flat patches of 7 points in
 * white noise were called clearly another shape than a plane, 6 of 9 points, 3 of 11; with it none of 20 each, of 7 to 100 points.
 */
const PIECES = 3;
/** Narrower than so many times the noise, as root mean squares, a patch has no shape across. */
const NARROW = 3;
/** Of too few points a plane is proposed unless it is so many times as far off as the best. */
const PLAINLY = 3;

/**
 * Which of plane, sphere, cylinder and cone a region of a surface is.
 *
 * Each is found by sample consensus and least squares over the points that agree. The criterion is the Bayesian one of Schwarz (Ann. Stat. 6 (1978) 461-464) with an effective
 * number of points: N·Σmin(r², 9σ²)/(nσ²) + m·ln N. σ is the smallest robust scale among the fits; m counts parameters; N is n divided by
 * how many times the variance of the fit's parameters, neighbors erring together, exceeds that of n independent points. So a shape
 * with more freedom must earn it on independent evidence: a plane is not called a cylinder of ten meters' radius because a
 * million points share a scanner's slow bend; and where the bend found is lost in the noise, it is called a plane however sure the bend
 * is: nobody made a cylinder of 80 m radius, which is why none is a runner-up either. Where fewer than three independent pieces of noise a
 * parameter of the cone are left, or the patch is hardly wider than its noise, nothing is told: that few points follow any shape.
 * Where the points bow away from the best beyond noise, it is not called settled: a torus is none of the four.
 * Differences are read as Kass & Raftery do (J. Am. Stat. Assoc. 90 (1995) 773-795).
 *
 * @throws FettleError `points-empty`, `too-few-points`, `points-coincide`, `points-not-finite`, `points-index-range`, `no-shape`
 */
export function suggestShape(points: Points): ShapeSuggestion {
  const all = gatherPoints(points, 'surface', cone.parameters.length + 1);
  const set = samplePoints(all, MOST, seededRandom(SEED));
  const spread = spreadOf(set);
  const tried = [
    tryShape<Plane>(plane, set, spread),
    tryShape<Sphere>(sphere, set, spread),
    tryShape<Cylinder>(cylinder, set, spread),
    tryShape<Cone>(cone, set, spread),
  ].filter((one) => one !== undefined);
  if (tried.length === 0) {
    throw new FettleError(
      'no-shape',
      `${set.prefix}The points determine none of plane, sphere, cylinder and cone. Choose a region with some extent.`,
    );
  }
  // Few points follow a shape of many parameters closer than their noise is.
  const unbiased = (one: Tried): number => one.scale * Math.sqrt(set.count / (set.count - one.parameters));
  const scale = Math.max(1e-9 * spread.size, Math.min(...tried.map(unbiased)));
  const costs = tried.map((one) => ({ ...one, cost: costOf(one.distances, scale) }));
  const nearest = costs.reduce((a, b) => (b.cost < a.cost ? b : a));
  const effective = Math.max(cone.parameters.length + 1, set.count / nearest.inflation());
  const candidates = costs
    .map(
      ({ kind, feature, parameters, rms, share, cost }): ShapeCandidate => ({
        kind,
        feature,
        rms,
        share,
        criterion: (effective * cost) / set.count + parameters * Math.log(effective),
      }),
    )
    .sort((a, b) => a.criterion - b.criterion);
  // Of many points even a few pieces of noise rule out the plane where they lie far off it.
  const fewest = PIECES * cone.parameters.length;
  const isFew = effective < fewest && !(set.count >= fewest && !mayBePlane(costs, candidates[0].kind));
  if (isFew || spread.extent[1] < NARROW * scale) return tooLittle(candidates, costs, all.count, effective);
  const isFlat = putFlatFirst(candidates, costs);
  const best = candidates[0];
  const second = candidates.slice(1).find(({ kind }) => !isLikePlane(kind, costs, scale));
  const ahead = isFlat ? 0 : second ? Math.max(0, second.criterion - best.criterion) : Infinity;
  const isOther = ahead >= SETTLED && best.kind !== 'plane' && costs.find(({ kind }) => kind === best.kind)!.isBowed();
  const by = isOther ? Math.min(ahead, NEAREST_ONLY) : ahead;
  return Object.freeze({
    kind: best.kind,
    ...(second && { runnerUp: second.kind }),
    by,
    reason:
      inWords(best, second, by, isFlat, candidates.length > 1) +
      (isOther ? ' The points bow away from it: the surface may be none of plane, sphere, cylinder and cone.' : ''),
    candidates: Object.freeze(candidates),
  });
}

/** What is said where the points decide nothing: the plane, unless it plainly is none. */
function tooLittle(
  candidates: ShapeCandidate[],
  costs: readonly Tried[],
  count: number,
  effective: number,
): ShapeSuggestion {
  const at = candidates.findIndex(({ kind }) => kind === 'plane');
  if (mayBePlane(costs, candidates[0].kind)) candidates.unshift(...candidates.splice(at, 1));
  const pieces = Math.round(effective);
  const few =
    pieces < count ? `${countText(count)} points with ${pieces} independent pieces of noise` : `${count} points`;
  return Object.freeze({
    kind: candidates[0].kind,
    by: 0,
    reason: `Too little to tell: ${few} follow any shape; ${describe(candidates[0])}. Choose a larger region.`,
    candidates: Object.freeze(candidates),
  });
}

/** Whether a plane leaves no more, to speak of, than the shape the points follow best. */
function mayBePlane(costs: readonly Tried[], best: SurfaceKind): boolean {
  const plane = costs.find(({ kind }) => kind === 'plane');
  return plane !== undefined && plane.scale <= PLAINLY * costs.find(({ kind }) => kind === best)!.scale;
}

/** Whether a shape departs from the plane by less than a third of the noise, so that it is no other shape. */
function isLikePlane(kind: SurfaceKind, costs: readonly Tried[], scale: number): boolean {
  const own = costs.find((one) => one.kind === kind)!.distances;
  const flat = costs.find((one) => one.kind === 'plane')?.distances;
  if (kind === 'plane' || flat === undefined) return false;
  const departure = (sign: 1 | -1): number => {
    let [sum, count] = [0, 0];
    for (let i = 0; i < own.length; i++) {
      if (Math.abs(own[i]) > CUT * scale || Math.abs(flat[i]) > CUT * scale) continue;
      sum += (flat[i] - sign * own[i]) ** 2;
      count++;
    }
    return 2 * count < own.length ? Infinity : sum / count;
  };
  return Math.min(departure(1), departure(-1)) < ((1 + FLAT) ** 2 - 1) * scale ** 2;
}

/** Moves the plane to the front where another shape is ahead of it by a bend that is lost in the noise; true if it did. */
function putFlatFirst(
  candidates: ShapeCandidate[],
  costs: readonly { readonly kind: SurfaceKind; readonly cost: number }[],
): boolean {
  const at = candidates.findIndex(({ kind }) => kind === 'plane');
  if (at < 1) return false;
  const cost = (wanted: SurfaceKind) => costs.find(({ kind }) => kind === wanted)!.cost;
  if (cost('plane') > (1 + FLAT) ** 2 * cost(candidates[0].kind)) return false;
  candidates.unshift(...candidates.splice(at, 1));
  return true;
}

interface Tried extends Omit<ShapeCandidate, 'criterion'> {
  readonly parameters: number;
  readonly scale: number;
  /** Of all points, mm. */
  readonly distances: Float64Array;
  /** How many times the variance of its parameters exceeds that of independent points, on average. */
  inflation(): number;
  /** Whether the points that agree bow away from it beyond noise. */
  isBowed(): boolean;
}

/** Undefined where the points do not determine the shape. */
function tryShape<F extends ShapeCandidate['feature']>(
  shape: Shape<F>,
  set: PointSet,
  spread: Spread,
): Tried | undefined {
  const origin = spread.centroid;
  const parameters = shape.parameters.length;
  const free = shape.parameters.map((_, i) => i);
  const found = orUndefined(() => consensus(shape, set, spread, {}, free, CUT, QUICK));
  if (!found) return undefined;
  const { scale } = found;
  const placement = shape.settle(found.placement);
  const distances = new Float64Array(set.count);
  fillResiduals(shape, placement, origin, set, shape.isSigned, distances);
  const near = Array.from(distances.keys()).filter((i) => Math.abs(distances[i]) <= CUT * scale);
  const own = subset(set, Uint32Array.from(near));
  const feature = shape.featureOf(placement, origin);
  let fitted: Fit<F> | undefined;
  const fitOwn = (): Fit<F> => {
    fitted ??= associate(shape, { positions: own.xyz }, { initial: feature });
    return fitted;
  };
  return {
    kind: feature.kind,
    feature,
    parameters,
    scale,
    distances,
    rms: Math.sqrt(near.reduce((sum, i) => sum + distances[i] ** 2, 0) / near.length),
    share: near.length / set.count,
    inflation() {
      const fit = orUndefined(fitOwn);
      if (!fit) return 1;
      // Determinants do not depend on the axes the parameters are seen in.
      const { normal } = sumNormalEquations(shape, placement, origin, own);
      const independent = (fit.rms ** 2) ** parameters / determinantOf(normal, parameters);
      const ratio = determinantOf(fit.uncertainty.covariance, parameters) / independent;
      return ratio > 1 ? ratio ** (1 / parameters) : 1;
    },
    isBowed: () => orUndefined(fitOwn)?.uncertainty.warnings?.some(({ code }) => code === 'surface-bowed') ?? false,
  };
}

function orUndefined<T>(work: () => T): T | undefined {
  try {
    return work();
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}

const determinantOf = (matrix: Float64Array, m: number): number =>
  determinant(new Matrix(Array.from({ length: m }, (_, i) => Array.from(matrix.subarray(i * m, (i + 1) * m)))));

/** Sum of squares in units of the scale, each cut off. */
const costOf = (distances: Float64Array, scale: number): number =>
  distances.reduce((sum, d) => sum + Math.min((d / scale) ** 2, CUT * CUT), 0);

function inWords(
  best: ShapeCandidate,
  second: ShapeCandidate | undefined,
  by: number,
  isFlat: boolean,
  hasOthers: boolean,
): string {
  if (!hasOthers) return `The points determine ${withArticle(best.kind)} and nothing else.`;
  const others = second ? describe(second) : 'no other shape bends more than the noise';
  if (isFlat) return `A plane, as near as the noise can tell: ${describe(best)}; ${others}.`;
  const verdict =
    by < OPEN
      ? 'The question is open'
      : by < SETTLED
        ? `Rather ${withArticle(best.kind)}`
        : `Clearly ${withArticle(best.kind)}`;
  return `${verdict}: ${describe(best)}; ${others}.`;
}

const describe = ({ kind, feature, rms, share }: ShapeCandidate): string =>
  `${withArticle(kind)}${'radius' in feature ? ` of radius ${lengthText(feature.radius)}` : ''} holds ` +
  `${Math.round(100 * share)} % of the points to ${lengthText(Number(rms.toPrecision(3)))} rms`;
