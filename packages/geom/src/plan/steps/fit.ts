import { rootOf } from '../../construct/propagate.js';
import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { haveDirection, havePlane } from '../../feature/roles.js';
import type { Fit } from '../../fit/fit.js';
import { warnOf } from '../../fit/known/known-comparison.js';
import { expandedInWords } from '../../fit/uncertainty/expanded.js';
import { either } from '../../text/in-words.js';
import { times, withHeights } from '../step/doubt.js';
import { judge } from '../step/judge.js';
import type { Objection, OutcomeOf, Reference, StepKind } from '../step/kind.js';
import { objectToNames } from '../step/limit-names.js';
import { featureValues, fitValues, formName } from '../step/names.js';
import { fromZero, type Reading } from '../step/reading.js';
import { readings } from '../step/readings.js';
import { adviceOnFit, holeQuestion, objectToFitAdvice } from './fit/advice.js';
import { comparisonInWords } from './fit/comparison.js';
import { fitted } from './fit/fitted.js';
import { type GivenFitStep, handSizeReferences, sizesTaken, withHandSizes } from './fit/hand-size.js';
import { inWords } from './fit/in-words.js';
import { pointsOf } from './fit/points.js';
import { regionInWords } from './fit/region-words.js';
import { type FitStep, fitSchemas, type Shape } from './fit/schema.js';
import { suggestionFor } from './fit/suggestion.js';
import { tied } from './fit/tied.js';

export { type FitStep, fitSchemas };

/** Which shapes each choice is for. */
const zoned: readonly Shape[] = ['plane', 'line', 'circle', 'sphere', 'cylinder'];
const oneSided: readonly Shape[] = ['circle', 'cylinder'];
const round: readonly Shape[] = ['circle', 'sphere', 'cylinder'];
const directed: readonly Shape[] = ['plane', 'line', 'circle', 'cylinder', 'cone'];
const flat: readonly Shape[] = ['circle', 'slot', 'ellipse'];
const suggested: readonly Shape[] = ['plane', 'sphere', 'cylinder', 'cone'];
const robust: readonly Shape[] = ['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone'];

/**
 * Peak to valley and rms as values of their own: where the criterion is about form, or the plan limits them. The surface's form and the
 * scan's noise make up peak to valley together, and one scan cannot tell them apart: its ± says that all of it may be noise.
 */
function formReadings(step: FitStep, { rms, form }: Fit<Feature>): Reading[] {
  const asked = (name: string) => step.limits?.[name] !== undefined;
  const name = formName[step.shape];
  const found: Reading[] = [];
  const zone = { value: form, unit: 'mm', ...times(withHeights(0, form), 1), ends: fromZero } as const;
  if (asked('rms')) found.push({ name: 'rms', value: rms, unit: 'mm', ends: fromZero });
  if (asked('form')) found.push({ name: 'form', ...zone });
  if (name !== 'form' && (asked(name) || step.criterion === 'minimum-zone')) found.push({ name, ...zone });
  return found;
}

/** Marks a size that the plan gives without an uncertainty of its own. */
function asGiven(found: Reading, { known = {} }: GivenFitStep): Reading {
  const given = found.name === 'diameter' ? (known.diameter ?? known.radius) : known.halfAngle;
  const isSize = found.name === 'diameter' || found.name === 'cone-angle';
  const stands = typeof given === 'number' || (given !== undefined && given.uncertainty === undefined);
  return isSize && stands ? { ...found, given: true } : found;
}

/** Where the plan gives a diameter, what speaks against it is told of the diameter. */
function asGivenSize(warning: Warning, { known }: GivenFitStep, fit: Fit<Feature>): Warning {
  if (warning.code !== 'known-disagrees' || known?.diameter === undefined) return warning;
  const inRadii = (fit.known ?? []).find((c) => c.name === 'radius' && warnOf(c)?.message === warning.message);
  return (inRadii && warnOf(inRadii, 'diameter')) ?? warning;
}

export const fitStep: StepKind<FitStep, OutcomeOf<'fit'>> = {
  forms: fitSchemas,
  references(step) {
    const found: Reference[] = [{ path: ['to'], id: step.to, accepts: ['region', 'section'], all: true }];
    if (step.plane !== undefined) found.push({ path: ['plane'], id: step.plane, accepts: havePlane });
    if (typeof step.known?.direction === 'string')
      found.push({ path: ['known', 'direction'], id: step.known.direction, accepts: haveDirection });
    found.push(...handSizeReferences(step));
    if (step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    return found;
  },
  yields: (step) => step.shape,
  object(step, kindOf) {
    const found: Objection[] = [];
    const only = (shapes: readonly Shape[], present: boolean, ...path: string[]) => {
      if (present && !shapes.includes(step.shape))
        found.push({ path, expected: `only with ${either(shapes)}`, found: `shape ${step.shape}` });
    };
    only(zoned, step.criterion === 'minimum-zone', 'criterion');
    only(oneSided, step.criterion === 'maximum-inscribed' || step.criterion === 'minimum-circumscribed', 'criterion');
    only(round, step.known?.radius !== undefined, 'known', 'radius');
    only(round, step.known?.diameter !== undefined, 'known', 'diameter');
    only(directed, step.known?.direction !== undefined, 'known', 'direction');
    only(['cone'], step.known?.halfAngle !== undefined, 'known', 'halfAngle');
    only(flat, step.plane !== undefined, 'plane');
    only(robust, step.robust !== undefined, 'robust');
    only(suggested, step.suggest !== undefined, 'suggest');
    for (const field of ['screw', 'fit', 'nominal'] as const) only(oneSided, step[field] !== undefined, field);
    const byExtremes = (step.criterion ?? 'least-squares') !== 'least-squares';
    for (const field of ['radius', 'diameter', 'halfAngle', 'direction'] as const) {
      const stands = field === 'direction' && oneSided.includes(step.shape);
      if (byExtremes && step.known?.[field] !== undefined && !stands)
        found.push({ path: ['known', field], expected: 'the criterion least-squares', found: step.criterion! });
    }
    if (step.trim !== undefined && !byExtremes)
      found.push({ path: ['trim'], expected: 'a criterion that touches extreme points', found: 'least-squares' });
    const to = step.to === 'all' ? 'region' : kindOf(step.to);
    only([...flat, 'line'], to === 'section', 'to');
    if (step.suggest !== undefined && to === 'section')
      found.push({ path: ['suggest'], expected: 'a region in to', found: 'a section' });
    for (const field of ['stretch', 'every'] as const)
      if (step[field] !== undefined && to === 'region')
        found.push({ path: [field], expected: 'a section in to', found: step.to === 'all' ? 'all' : 'a region' });
    const placed = step.stretch !== undefined || Array.isArray(step.known?.direction);
    if (step.in !== undefined && !placed)
      found.push({ path: ['in'], expected: 'coordinates in this step: a stretch or a known direction', found: 'none' });
    found.push(...objectToFitAdvice(step));
    found.push(...objectToNames(step.limits, [...featureValues[step.shape], ...fitValues(step.shape)]));
    return found;
  },
  run(step, context) {
    const { points, plane, warnings } = pointsOf(step, context);
    const given = withHandSizes(step, context);
    const fit = fitted(given, points, plane, context);
    const feature = tied(step, rootOf(step.id, fit), context);
    const isHole = holeQuestion(fit, points, plane, context);
    const region = context.regionOutcome(step.to);
    const suggestion = step.suggest ? suggestionFor(step.shape, points) : undefined;
    return {
      outcome: { kind: 'fit', id: step.id, fit },
      uncertain: feature,
      points: { ...points, select: fit.used },
      taken: sizesTaken(step, fit.known),
      noise: context.noise,
      isHole,
      row(frame) {
        const told = readings(feature, frame, step.limits, step.plane !== undefined);
        const judged = judge(
          [...told.readings.map((found) => asGiven(found, given)), ...formReadings(step, fit)],
          step.limits,
        );
        const advice = adviceOnFit(step, judged.values, isHole);
        return {
          what: inWords(given),
          values: judged.values,
          ...(told.where !== undefined && { where: told.where }),
          uncertainty: [expandedInWords(fit.uncertainty), comparisonInWords(given, fit.known), suggestion?.words]
            .filter(Boolean)
            .join('; '),
          ...(advice.words.length > 0 && { advice: advice.words }),
          ...(region && { region: regionInWords(region) }),
          rms: fit.rms,
          form: fit.form,
          used: fit.count,
          rejected: fit.rejected.length,
          warnings: [
            ...warnings,
            ...(region?.doubts ?? []),
            ...fit.warnings.map((warning) => asGivenSize(warning, given, fit)),
            ...(fit.uncertainty.warnings ?? []),
            ...judged.warnings,
            ...advice.warnings,
            ...(suggestion?.warnings ?? []),
          ],
        };
      },
    };
  },
};
