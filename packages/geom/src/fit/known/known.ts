import { FettleError } from '../../error.js';
import type { FeatureKind } from '../../feature/feature.js';
import { meant } from '../../math/nearest.js';
import { isFiniteVec3, length, normalize, scale, type Vec3 } from '../../math/vec3.js';
import { together, withArticle } from '../../text/in-words.js';
import { givenText } from '../../text/number-text.js';
import type {
  Known,
  KnownComparison,
  KnownDirection,
  KnownHalfAngle,
  KnownPlane,
  KnownRadius,
  KnownWithUncertainty,
} from '../fit.js';
import type { Parameter } from '../solve/placement.js';
import type { Given } from '../solve/shape.js';

/** Any of what can be known of a shape. */
export interface KnownOptions extends KnownRadius, KnownDirection, KnownHalfAngle, KnownPlane {}

/** One known value, checked. */
export interface KnownValue {
  readonly name: KnownComparison['name'];
  /** mm, radians, or a unit vector. */
  readonly value: number | Vec3;
  /** Standard uncertainty, mm or radians; 0 where none was stated. */
  readonly standard: number;
  readonly prior: boolean;
  /** What it fixes, or weighs on. */
  readonly parameters: readonly Parameter[];
}

const PARAMETERS: Record<KnownValue['name'], readonly Parameter[]> = {
  radius: ['radius'],
  direction: ['tilt-u', 'tilt-v'],
  halfAngle: ['half-angle'],
  plane: ['tilt-u', 'tilt-v'],
};

/** What can be known of each shape. */
const OF: Partial<Record<FeatureKind, readonly KnownValue['name'][]>> = {
  plane: ['direction'],
  line: ['direction'],
  circle: ['radius', 'direction', 'plane'],
  sphere: ['radius'],
  cylinder: ['radius', 'direction'],
  cone: ['halfAngle', 'direction'],
};

/**
 * Known values, checked, with their uncertainty turned from expanded (k = 2) to standard.
 *
 * @throws FettleError `bad-known`, also for values the shape does not have
 */
export function readKnown(kind: FeatureKind, known: KnownOptions = {}): readonly KnownValue[] {
  refuseOthers(kind, known);
  const values: KnownValue[] = [];
  const read = <T extends number | Vec3>(name: KnownValue['name'], given: Known<T> | undefined, check: (v: T) => T) => {
    if (given === undefined) return;
    const { value, uncertainty, prior } = withUncertainty(given);
    if (uncertainty !== undefined && !(uncertainty > 0 && Number.isFinite(uncertainty)))
      throw bad(name, `its uncertainty is ${uncertainty}`, 'Give ± as more than 0, or leave it out');
    if (prior && uncertainty === undefined)
      throw bad(name, 'it has no uncertainty', 'A value to be weighed against the points needs one');
    values.push({
      name,
      value: check(value),
      standard: (uncertainty ?? 0) / 2,
      prior: prior ?? false,
      parameters: PARAMETERS[name],
    });
  };
  read('radius', known.radius, (r) => {
    if (r > 0 && Number.isFinite(r)) return r;
    throw bad('radius', `it is ${r}`, 'Give it in mm, more than 0');
  });
  const unit = (d: Vec3): Vec3 => {
    const long = isFiniteVec3(d) ? length(d) : 0;
    if (long > 0 && Number.isFinite(long)) return normalize(scale(d, 1 / long));
    throw bad('direction', `it is ${givenText(d)}`, 'Give three finite numbers, not all 0');
  };
  read('direction', known.direction, unit);
  read('halfAngle', known.halfAngle, (a) => {
    if (a > 0 && a < Math.PI / 2) return a;
    throw bad('halfAngle', `it is ${a}`, 'Give it in radians, between 0 and π/2');
  });
  if (known.plane !== undefined) {
    const { value, ...rest } = withUncertainty(known.plane);
    if (rest.prior) throw bad('plane', 'a circle is fitted in it', 'It cannot be weighed against the points');
    read('plane', { ...rest, value: value.normal } as Known<Vec3>, unit);
  }
  return values;
}

function refuseOthers(kind: FeatureKind, known: KnownOptions): void {
  const names = OF[kind] ?? [];
  const takes = `Of ${withArticle(kind)} ${together(names)} can be known`;
  if (typeof known !== 'object' || known === null)
    throw new FettleError('bad-known', `known is ${known}: give an object. ${takes}.`);
  for (const [name, value] of Object.entries(known)) {
    if (value === undefined || names.some((own) => own === name)) continue;
    const why = Object.hasOwn(PARAMETERS, name)
      ? `A ${kind} has no ${name} to be known.`
      : `There is no known ${name}.`;
    const half = name === 'diameter' && names.includes('radius') ? ' Give half of it as radius.' : meant(name, names);
    throw new FettleError('bad-known', `${why}${half} ${takes}.`);
  }
}

const bad = (name: string, why: string, what: string): FettleError =>
  new FettleError('bad-known', `The known ${name} cannot be used: ${why}. ${what}.`);

/** A known value as it was given, in one form. */
export function withUncertainty<T>(known: Known<T>): Partial<KnownWithUncertainty<T>> & { value: T } {
  return typeof known === 'object' && known !== null && 'value' in known ? known : { value: known };
}

/** The values alone: what a start must meet. */
export function givenBy(values: readonly KnownValue[]): Given {
  return Object.fromEntries(values.map(({ name, value }) => [name, value]));
}
