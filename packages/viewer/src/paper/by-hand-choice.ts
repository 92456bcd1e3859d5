import type { Feature, Plan, Step } from '@fettle/geom';
import { askedFields, type TableQuestions } from './asked-fields.js';

type FitStep = Extract<Step, { step: 'fit' }>;
export type ByHandStep = Extract<Step, { step: 'by-hand' }>;
type Dimension = 'diameter' | 'length' | 'width' | 'major-diameter' | 'minor-diameter';

/** Sizes a caliper can take of each kind of feature. */
const dimensions: { readonly [K in Feature['kind']]?: readonly Dimension[] } = {
  circle: ['diameter'],
  sphere: ['diameter'],
  cylinder: ['diameter'],
  slot: ['length', 'width'],
  ellipse: ['major-diameter', 'minor-diameter'],
};
export const dimensionsOf = (feature: Feature | undefined): readonly Dimension[] =>
  (feature && dimensions[feature.kind]) ?? [];

/** Whether a feature has a place of its own, so that a distance from it along an axis says something. */
export const isPlaced = (feature: Feature | undefined): boolean =>
  feature !== undefined && ['point', 'circle', 'sphere', 'cone', 'slot', 'ellipse'].includes(feature.kind);

/** What is done with a size: only written down, held against a row, or made the known size of a fit. */
export type Use = 'alone' | 'beside' | 'weighed' | 'taken';

/** A form being filled in. */
export interface ByHandForm {
  readonly what: 'size' | 'distance';
  readonly id: string;
  readonly value?: number;
  readonly uncertainty?: number;
  readonly instrument: string;
  readonly note: string;
  readonly of?: string;
  readonly dimension?: Dimension;
  readonly use: Use;
  readonly from?: string;
  readonly to?: string;
  readonly along?: 'x' | 'y' | 'z';
  /** Of a size: what the tables are asked about it. */
  readonly asked?: TableQuestions;
}

/** What the form lacks, in words; undefined when it is whole. */
export function lackingWords({ what, value, uncertainty, use, of, from, to }: ByHandForm): string | undefined {
  if (value === undefined || !(value > 0)) return 'Type what the instrument read, more than 0.';
  if (uncertainty !== undefined && !(uncertainty > 0)) return 'The ± is more than 0, or left empty.';
  if (what === 'distance')
    return from && to && from !== to ? undefined : 'Choose the two rows it was measured between.';
  if (use !== 'alone' && of === undefined) return 'Choose the row it was measured on.';
  return use === 'weighed' && uncertainty === undefined ? 'To be weighed against the scan it needs its ±.' : undefined;
}

/** The step a form makes. */
export function byHandStep(form: ByHandForm, frame: string | undefined): ByHandStep {
  const { what, id, value = Number.NaN, uncertainty, instrument, note, use } = form;
  const base = {
    step: 'by-hand' as const,
    id,
    ...(note.trim() && { note: note.trim() }),
    ...(uncertainty !== undefined && { uncertainty }),
    ...(instrument.trim() && { instrument: instrument.trim() }),
  };
  if (what === 'distance') {
    const inFrame = form.along && frame !== undefined ? { in: frame } : {};
    return {
      ...base,
      distance: value,
      between: [form.from!, form.to!],
      ...(form.along && { along: form.along, ...inFrame }),
    };
  }
  const asked = askedFields(form.asked ?? {});
  if (use !== 'beside') return { ...base, size: value, ...asked };
  const dimension = form.dimension && form.dimension !== 'diameter' ? { dimension: form.dimension } : {};
  return { ...base, size: value, of: form.of!, ...dimension, ...asked };
}

/** The fit with a size by hand as its known diameter. */
export function withKnownDiameter(step: FitStep, from: string, weighed: boolean): FitStep {
  const { radius: _, ...known } = step.known ?? {};
  return { ...step, known: { ...known, diameter: weighed ? { from, prior: true } : from } };
}

/** The plan with a size by hand right before a fit that takes it as its known diameter. */
export function withHandSize(plan: Plan, hand: ByHandStep, fit: string, weighed: boolean): Plan {
  return {
    ...plan,
    steps: plan.steps.flatMap((step) =>
      step.id === fit && step.step === 'fit' ? [hand, withKnownDiameter(step, hand.id, weighed)] : [step],
    ),
  };
}
