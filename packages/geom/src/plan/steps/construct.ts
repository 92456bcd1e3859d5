import type { z } from 'zod';
import type { Constructed } from '../../construct/constructed.js';
import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Warning } from '../../error.js';
import type { Feature, FeatureKind } from '../../feature/feature.js';
import { centerOf } from '../../feature/roles.js';
import { expandedInWords } from '../../fit/uncertainty/expanded.js';
import type { Frame } from '../../math/frame.js';
import { addScaled, dot, length, subtract } from '../../math/vec3.js';
import { placeText } from '../../text/number-text.js';
import type { Context } from '../step/context.js';
import { ofFeature, plusMinusOfLength, times } from '../step/doubt.js';
import type { ConstructForm } from '../step/form.js';
import { judge } from '../step/judge.js';
import type { OutcomeOf, StepKind } from '../step/kind.js';
import { objectToNames } from '../step/limit-names.js';
import { featureValues, patternValues } from '../step/names.js';
import type { HolePattern } from '../step/outcome.js';
import { fromZero, type Reading, reading } from '../step/reading.js';
import { readings } from '../step/readings.js';
import { boltCircleForm, gridForm, rowForm } from './construct/hole-pattern.js';
import { intersectForm } from './construct/intersect.js';
import { midplaneForm, midpointForm } from './construct/middle.js';
import { offsetForm } from './construct/offset.js';
import { axisForm, centerForm, centerlineForm } from './construct/own-part.js';
import { pointForm } from './construct/point.js';
import { projectForm } from './construct/project.js';
import { throughForm } from './construct/through.js';

/** Making features from features: every form by the field that tells it. */
const forms = {
  intersect: intersectForm,
  project: projectForm,
  midplane: midplaneForm,
  midpoint: midpointForm,
  through: throughForm,
  offset: offsetForm,
  center: centerForm,
  axis: axisForm,
  centerline: centerlineForm,
  point: pointForm,
  boltCircle: boltCircleForm,
  row: rowForm,
  grid: gridForm,
};

export type ConstructStep = z.infer<(typeof forms)[keyof typeof forms]['schema']>;

export const constructSchemas: Readonly<Record<string, z.ZodType<ConstructStep>>> = Object.fromEntries(
  Object.entries(forms).map(([name, { schema }]) => [name, schema]),
);

const nameOf = (step: ConstructStep): keyof typeof forms =>
  Object.keys(forms).find((name) => name in step) as keyof typeof forms;
const formOf = (step: ConstructStep) => forms[nameOf(step)] as ConstructForm<ConstructStep>;

type Made = Constructed<Feature> & { readonly pattern?: HolePattern };

const operand = (id: string, accepts: readonly string[], context: Context): Uncertain<Feature | Frame> =>
  accepts.includes('frame') ? context.frame(id) : context.feature(id);

/** What a pattern of holes has on the job sheet beside its feature. */
function patternReadings(made: Uncertain<Made>, holes: readonly Uncertain<Feature | Frame>[]): Reading[] {
  const { pattern } = made.value;
  if (pattern === undefined) return [];
  const of = (number: (pattern: HolePattern) => number) => derive([made], ({ pattern: p }) => number(p!));
  const own =
    pattern.kind === 'bolt-circle'
      ? [{ name: 'spacing', value: 360 / pattern.count, unit: '°', uncertainty: 0 } as const]
      : pattern.kind === 'row'
        ? [
            reading(
              'pitch',
              of((p) => (p.kind === 'row' ? p.pitch : 0)),
              'mm',
              fromZero,
            ),
          ]
        : [
            reading(
              'pitch',
              of((p) => (p.kind === 'grid' ? p.pitch[0] : 0)),
              'mm',
              fromZero,
            ),
            reading(
              'pitch-across',
              of((p) => (p.kind === 'grid' ? p.pitch[1] : 0)),
              'mm',
              fromZero,
            ),
            reading(
              'grid-angle',
              of((p) => (p.kind === 'grid' ? p.angle : 0)),
              '°',
            ),
          ];
  return [
    ...own,
    { name: 'off-place', value: pattern.max, unit: 'mm', ...times(offPlace(made, holes), 1), ends: fromZero },
  ];
}

/**
 * ± of how far the hole farthest off its place is off it, in the plane of the pattern; undefined where no hole tells that. Noise picks
 * which of n holes that is: the distance in a plane that one of n exceeds with 5 % is longer by √(1 + ln n / ln 20) than that of one
 * (Rayleigh's distribution, and Bonferroni's bound for n).
 */
function offPlace(made: Uncertain<Made>, holes: readonly Uncertain<Feature | Frame>[]): number | undefined {
  const placed = made.value.pattern!.holes;
  const worst = placed.reduce((most, { off }, i) => (off > placed[most]!.off ? i : most), 0);
  const hole = holes[placed[worst]!.hole] as Uncertain<Feature>;
  // Rows and grids face as their holes do.
  const facing = [made.value.feature, ...holes.map(({ value }) => value as Feature)].find((f) => 'normal' in f);
  if (facing === undefined) return undefined;
  const way = derive([hole, made], (h, m) => {
    const off = subtract(centerOf(h).position, m.pattern!.holes[worst]!.nominal);
    return addScaled(off, facing.normal, -dot(off, facing.normal));
  });
  const one = plusMinusOfLength(way);
  return one === undefined ? undefined : one * Math.sqrt(1 + Math.log(placed.length) / Math.log(20));
}

/** Half of how far apart the farthest places of a pattern are, mm. */
const halfSpan = ({ holes }: HolePattern): number =>
  Math.max(...holes.flatMap((a, i) => holes.slice(i + 1).map((b) => length(subtract(a.nominal, b.nominal))))) / 2;

const missingHoles = ({ pattern }: Made, frame: Frame | undefined): Warning[] =>
  (pattern?.missing ?? []).map(({ name, nominal }) => {
    const at = frame ? `, ${placeText(frame.toFrame(nominal))}` : '';
    return { code: 'hole-missing', message: `No hole was given at place ${name} of the pattern${at}.` };
  });

export const constructStep: StepKind<ConstructStep, OutcomeOf<'construct'>> = {
  forms: constructSchemas,
  references: (step) => formOf(step).operands(step),
  yields(step, kindOf) {
    const form = formOf(step);
    return form.yields(
      step,
      form.operands(step).map(({ id }) => kindOf(id)),
    );
  },
  object(step, kindOf) {
    const form = formOf(step);
    const kinds = form.operands(step).map(({ id }) => kindOf(id));
    const kind: FeatureKind | undefined = form.yields(step, kinds);
    const names = kind && [...featureValues[kind], ...(patternValues[nameOf(step)] ?? [])];
    return [...(form.object?.(step, kinds) ?? []), ...(names ? objectToNames(step.limits, names) : [])];
  },
  run(step, context) {
    const form = formOf(step);
    const operands = form.operands(step).map(({ id, accepts }) => operand(id, accepts, context));
    const made = derive<(Feature | Frame)[], Made>(operands, (...values) => form.make(step, values));
    const feature = derive([made], (m) => m.feature);
    const { pattern, warnings } = made.value;
    const told = ofFeature(feature);
    // What holes were set in may be far larger than they are apart.
    const uncertainty = told && pattern ? { ...told, reach: halfSpan(pattern) } : told;
    return {
      outcome: {
        kind: 'construct',
        id: step.id,
        feature: feature.value,
        ...(uncertainty && { uncertainty }),
        ...(pattern && { pattern }),
        warnings,
      },
      uncertain: feature,
      row(frame) {
        const told = readings(feature, frame, step.limits);
        const judged = judge([...told.readings, ...patternReadings(made, operands)], step.limits);
        return {
          what: form.inWords(step, feature.value),
          values: judged.values,
          ...(told.where !== undefined && { where: told.where }),
          ...(uncertainty && { uncertainty: expandedInWords(uncertainty) }),
          warnings: [...warnings, ...missingHoles(made.value, frame?.value), ...judged.warnings],
        };
      },
    };
  },
};
