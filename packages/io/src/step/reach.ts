import {
  type Feature,
  type Fit,
  type Frame,
  preparedScan,
  type Results,
  type Scan,
  type Section,
  stepReferences,
  type Vec3,
  vec3,
} from '@fettle/geom';
import { featureIn, placesIn } from './in-frame.js';

const { addScaled, cross, distance, dot, perpendiculars, subtract } = vec3;

/**
 * The points that tell how far the feature of a step reaches, in the frame: those it was fitted to; of a constructed one, those of what it
 * was made from.
 */
export class Reach {
  readonly #results: Results;
  readonly #scan: Scan;
  readonly #frame: Frame;

  constructor(results: Results, scan: Scan, frame: Frame) {
    this.#results = results;
    this.#scan = scan;
    this.#frame = frame;
  }

  of(id: string): Float64Array {
    const { outcomes } = this.#results;
    const outcome = this.#outcome(id);
    const step = this.#results.plan.steps.find((s) => s.id === id);
    if (step && outcome?.kind === 'fit') {
      const { fit } = outcome;
      const to = step.step === 'fit' ? this.#outcome(step.to) : undefined;
      if (to?.kind === 'section') return this.#flat([fit.feature, ...alongSection(fit, to.section)]);
      return placesIn(preparedScan(outcomes, this.#scan, id).positions, this.#frame, fit.used);
    }
    if (step && outcome?.kind === 'construct') {
      const parts = stepReferences(step).map((operand) => this.of(operand));
      const points = joined(parts);
      return points.length > 0 ? points : this.#flat([outcome.feature]);
    }
    return new Float64Array(0);
  }

  #outcome(id: string) {
    return this.#results.outcomes.find((outcome) => outcome.id === id);
  }

  #flat(what: readonly (Feature | Vec3)[]): Float64Array {
    const places = what.flatMap((w) => ('kind' in w ? outline(featureIn(w, this.#frame)) : [this.#frame.toFrame(w)]));
    return Float64Array.from(places.flat());
  }
}

/** The ends of a line fitted to part of a section: its points, as far as they are the line's. Of other features none: they have a size. */
function alongSection({ feature, max, coverage }: Fit<Feature>, section: Section): Vec3[] {
  if (feature.kind !== 'line') return [];
  const found: Vec3[] = [];
  for (const { points } of section.polylines)
    for (let i = 0; i < points.length; i += 3) {
      const p: Vec3 = [points[i]!, points[i + 1]!, points[i + 2]!];
      const along = dot(subtract(p, feature.point), feature.direction);
      const off = distance(p, addScaled(feature.point, feature.direction, along));
      if (off <= max * (1 + 1e-9) && Math.abs(along) <= (coverage.length ?? 0)) found.push(p);
    }
  return found;
}

/** Some points that tell where a feature is and how large. */
function outline(feature: Feature): Vec3[] {
  const about = (center: Vec3, u: Vec3, a: number, v: Vec3, b: number): Vec3[] => [
    addScaled(center, u, a),
    addScaled(center, u, -a),
    addScaled(center, v, b),
    addScaled(center, v, -b),
  ];
  switch (feature.kind) {
    case 'point':
      return [feature.position];
    case 'plane':
    case 'line':
    case 'cylinder':
      return [feature.point];
    case 'cone':
      return [feature.apex];
    case 'sphere':
      return [feature.center];
    case 'circle': {
      const [u, v] = perpendiculars(feature.normal);
      return about(feature.center, u, feature.radius, v, feature.radius);
    }
    case 'slot':
    case 'ellipse': {
      const { center, direction, normal } = feature;
      const [a, b] = feature.kind === 'slot' ? [feature.length / 2, feature.width / 2] : [feature.major, feature.minor];
      return about(center, direction, a, cross(normal, direction), b);
    }
  }
}

function joined(parts: readonly Float64Array[]): Float64Array {
  const whole = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}
