import { FettleError, type Warning } from '../../error.js';
import type { Circle, Cylinder, Feature, Line, Plane, Sphere } from '../../feature/feature.js';
import { meant } from '../../math/nearest.js';
import type { Points } from '../../scan/scan.js';
import { either, withArticle } from '../../text/in-words.js';
import type { Association, CriterionOptions } from '../extremes/association.js';
import { minimumZoneCircle } from '../extremes/circle.js';
import { minimumCircumscribedCircle } from '../extremes/circumscribed-circle.js';
import { maximumInscribedCylinder, minimumCircumscribedCylinder, minimumZoneCylinder } from '../extremes/cylinder.js';
import { maximumInscribedCircle } from '../extremes/inscribed-circle.js';
import { minimumZoneLine } from '../extremes/line.js';
import { minimumZonePlane } from '../extremes/plane.js';
import { minimumZoneSphere } from '../extremes/sphere.js';
import type { Criterion, Fit, FitOptions } from '../fit.js';
import type { KnownValue } from '../known/known.js';
import { type PointSet, subset } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import { spreadOf } from '../solve/spread.js';
import { type Evidence, evidenceOf, fitResult } from '../uncertainty/result.js';
import { withSpreadOfExtremes } from './extremes-uncertainty.js';

type ByExtremes = Exclude<Criterion, 'least-squares'>;

/** Gaps of less than this share of the points' size, or of a few last digits of their coordinates, are rounding. */
const ROUNDING = 1e-12;
const LAST_DIGITS = 8 * Number.EPSILON;

type Associate<F extends Feature> = (points: Points, options: CriterionOptions<F>) => Association<F>;

/** Which shapes each criterion is for, and what finds them. */
const CRITERIA = {
  'minimum-zone': {
    plane: minimumZonePlane,
    line: minimumZoneLine,
    circle: minimumZoneCircle,
    sphere: minimumZoneSphere,
    cylinder: minimumZoneCylinder,
  },
  'maximum-inscribed': { circle: maximumInscribedCircle, cylinder: maximumInscribedCylinder },
  'minimum-circumscribed': { circle: minimumCircumscribedCircle, cylinder: minimumCircumscribedCylinder },
} satisfies Record<
  ByExtremes,
  {
    plane?: Associate<Plane>;
    line?: Associate<Line>;
    circle: Associate<Circle>;
    sphere?: Associate<Sphere>;
    cylinder: Associate<Cylinder>;
  }
>;

/** Values that may be given beside a criterion other than least squares: they say where it looks, not what it finds. */
const ALLOWED: Partial<Record<Feature['kind'], readonly KnownValue['name'][]>> = {
  circle: ['plane', 'direction'],
  cylinder: ['direction'],
};

/**
 * The criterion asked for, undefined for least squares.
 *
 * @throws FettleError `bad-option` for one the shape does not have, a trim without one, or a known value beside one
 */
export function checkedCriterion<F extends Feature>(
  kind: F['kind'],
  { criterion = 'least-squares', trim }: FitOptions<F>,
  known: readonly KnownValue[],
): ByExtremes | undefined {
  if (criterion === 'least-squares') {
    if (trim === undefined) return undefined;
    throw new FettleError(
      'bad-option',
      `trim is for criteria that touch extreme points; ${criterion} does not. Leave it out.`,
    );
  }
  const own = ['least-squares', ...Object.keys(CRITERIA).filter((name) => kind in CRITERIA[name as ByExtremes])];
  if (!own.includes(criterion)) {
    const why = Object.hasOwn(CRITERIA, criterion)
      ? `A ${kind} cannot be fitted by ${criterion}.`
      : `There is no criterion ${criterion}.${meant(criterion, own)}`;
    throw new FettleError('bad-option', `${why} Fit ${withArticle(kind)} by ${either(own)}.`);
  }
  const stray = known.find(({ name, prior }) => prior || !ALLOWED[kind]?.includes(name));
  if (stray)
    throw new FettleError(
      'bad-option',
      `A known ${stray.name} cannot stand beside ${criterion}, which finds its own. Leave it out, or fit by least squares.`,
    );
  return criterion;
}

/**
 * The same points by their extremes instead of least squares. The least-squares fit gives the start, the points to trim
 * and the warnings about what the points show; residuals, rms and used points are those of the points kept, about the
 * new feature.
 */
export function fitByExtremes<F extends Feature>(
  least: Evidence<F>,
  criterion: ByExtremes,
  trim: number | undefined,
  warnings: readonly Warning[],
): Fit<F> {
  const { shape, set, origin, placement, free } = least;
  const start = shape.featureOf(placement, origin);
  const positions = set.xyz.length === 3 * set.count ? set.xyz : set.xyz.subarray(0, 3 * set.count);
  const found = associateKind(shape, free, criterion)({ positions }, { start, ...(trim !== undefined && { trim }) });
  const { feature, form, optimality, iterations } = found;
  const after = evidenceOf({
    shape,
    set: found.trimmed.length > 0 ? subset(set, others(found.trimmed, set.count)) : set,
    origin,
    placement: shape.settle(shape.placementOf(feature, origin)),
    free,
    entered: [],
    rejected: least.rejected,
    iterations: least.iterations + iterations,
    // Of exact points the form itself is rounding: what is left of the gap is measured by their size and place.
    converged: optimality.gap <= Math.max(1e-9 * Math.max(form, least.rms), roundingOf(set)),
    ...(least.scanner && { scanner: least.scanner }),
  });
  const index = (place: number): number => (set.index ? set.index[place] : place);
  const isZone = criterion === 'minimum-zone';
  const rank = 1 + found.trimmed.length / (isZone ? 2 : 1);
  const bias = isZone || !('radius' in feature && 'radius' in start) ? 0 : Math.abs(feature.radius - start.radius);
  const spread = () => withSpreadOfExtremes(least, after, found.contacts, isZone, rank, bias);
  const all = [...warnings, ...found.warnings, ...(after.converged ? [] : [unfinished(shape.kind, optimality.gap)])];
  return fitResult({ ...after, uncertainty: spread }, all, undefined, {
    criterion,
    form,
    contacts: Object.freeze(found.contacts.map((c) => ({ ...c, index: index(c.index) }))),
    trim: found.trim,
    trimmed: found.trimmed.map(index).sort(),
    optimality: Object.freeze(optimality),
  });
}

function roundingOf(set: PointSet): number {
  const { size, centroid } = spreadOf(set);
  return ROUNDING * size + LAST_DIGITS * Math.max(...centroid.map(Math.abs));
}

function associateKind<F extends Feature>(
  { kind, parameters }: Shape<F>,
  free: readonly number[],
  criterion: ByExtremes,
): Associate<F> {
  const table: Partial<Record<Feature['kind'], unknown>> = CRITERIA[criterion];
  const isTurnable = free.some((p) => parameters[p].startsWith('tilt'));
  if (kind !== 'cylinder' || isTurnable) return table[kind] as Associate<F>;
  // An axis whose direction is given: seen along it the points are a section.
  const inSection = CRITERIA[criterion].circle;
  const along: Associate<Cylinder> = (points, { start, ...rest }) => {
    const { point, direction, radius } = start;
    const { feature, ...found } = inSection(points, {
      ...rest,
      start: { kind: 'circle', center: point, normal: direction, radius },
    });
    return { ...found, feature: { kind: 'cylinder', point: feature.center, direction, radius: feature.radius } };
  };
  return along as unknown as Associate<F>;
}

/** Places in [0, count) that are not in `trimmed`, which is ascending. */
function others(trimmed: Uint32Array, count: number): Uint32Array {
  const kept = new Uint32Array(count - trimmed.length);
  for (let i = 0, next = 0, k = 0; i < count; i++) {
    if (trimmed[next] === i) next++;
    else kept[k++] = i;
  }
  return kept;
}

const unfinished = (kind: string, gap: number): Warning => ({
  code: 'not-converged',
  message: `The ${kind} may be improved by as much as ${gap.toPrecision(2)} mm: the search came to no proven end. Do not rely on it.`,
});
