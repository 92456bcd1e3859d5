import type { z } from 'zod';
import type { MeasureForm } from '../step/form.js';
import { judge } from '../step/judge.js';
import type { OutcomeOf, StepKind } from '../step/kind.js';
import { angleForm } from './measure/angle.js';
import { distanceForm } from './measure/distance.js';
import { coplanarityForm, stepHeightForm } from './measure/faces.js';
import { coaxialityForm, positionForm, symmetryForm } from './measure/location.js';
import { parallelismForm, perpendicularityForm } from './measure/orientation.js';

/** Numbers between features: every form by the field that tells it. */
const forms = {
  distance: distanceForm,
  angle: angleForm,
  parallelism: parallelismForm,
  perpendicularity: perpendicularityForm,
  position: positionForm,
  coaxiality: coaxialityForm,
  symmetry: symmetryForm,
  coplanarity: coplanarityForm,
  stepHeight: stepHeightForm,
};

export type MeasureStep = z.infer<(typeof forms)[keyof typeof forms]['schema']>;

export const measureSchemas: Readonly<Record<string, z.ZodType<MeasureStep>>> = Object.fromEntries(
  Object.entries(forms).map(([name, { schema }]) => [name, schema]),
);

const formOf = (step: MeasureStep) =>
  Object.entries(forms).find(([name]) => name in step)![1] as unknown as MeasureForm<MeasureStep>;

export const measureStep: StepKind<MeasureStep, OutcomeOf<'measure'>> = {
  forms: measureSchemas,
  references: (step) => formOf(step).operands(step),
  yields: () => 'value',
  object(step, kindOf) {
    const form = formOf(step);
    return (
      form.object?.(
        step,
        form.operands(step).map(({ id }) => kindOf(id)),
      ) ?? []
    );
  },
  run(step, context) {
    const form = formOf(step);
    const { reading, between, warnings } = form.measure(step, context);
    const judged = judge([reading], step.limits && { [reading.name]: step.limits });
    const [value] = judged.values;
    const all = [...warnings, ...judged.warnings];
    return {
      outcome: { kind: 'measure', id: step.id, value, ...(between && { between }), warnings: all },
      row: () => ({ what: form.inWords(step), values: [value], warnings: all }),
    };
  },
};
