import { z } from 'zod';
import { slopingAngle } from '../../../construct/alignment.js';
import { derive } from '../../../construct/propagate.js';
import { planeOf } from '../../../feature/roles.js';
import { dot } from '../../../math/vec3.js';
import { coplanarity, faceStep } from '../../../relate/faces.js';
import type { Surface } from '../../../relate/zone.js';
import { degreesInWords, together } from '../../../text/in-words.js';
import { lengthText } from '../../../text/number-text.js';
import { plusMinus, times, withHeights } from '../../step/doubt.js';
import { trim } from '../../step/fields.js';
import { each, type MeasureForm } from '../../step/form.js';
import { fromZero, reading } from '../../step/reading.js';
import { aPlane, base } from './base.js';
import { heightsIn, partOf, tolerancedFrom } from './toleranced.js';

const plane = z
  .strictObject({ ...base, coplanarity: z.tuple([aPlane, aPlane]), trim: trim.optional() })
  .describe(
    'Coplanarity of two faces by ISO 1101 (flatness in a combined zone): between the two planes that hold both, mm.',
  );

export const coplanarityForm: MeasureForm<z.infer<typeof plane>> = {
  schema: plane,
  operands: (step) => each('coplanarity', step.coplanarity, ['plane']),
  measure(step, context) {
    const [a, b] = step.coplanarity.map((id) => tolerancedFrom(id, context)) as [Surface, Surface];
    const [first, second] = step.coplanarity.map((id) => context.feature(id));
    const { value, along, deciding } = coplanarity(a, b, step.trim === undefined ? {} : { trim: step.trim });
    const parts = deciding.map(({ place, weight, face }) => ({
      at: partOf((face === 1 ? second : first).value, place),
      weight,
      face,
    }));
    // The zone may turn as it likes, so that only its own direction counts, to first order.
    const size = derive([first, second], (p, q) =>
      parts.reduce((sum, { at, weight, face }) => sum + weight * dot(at(face === 1 ? q : p), along), 0),
    );
    const doubt = withHeights(plusMinus(size), heightsIn({ deciding, along }, [a.plane, b.plane]));
    return { reading: { name: 'coplanarity', value, unit: 'mm', ...times(doubt, 1), ends: fromZero }, warnings: [] };
  },
  inWords: (step) => `coplanarity of ${together(step.coplanarity)}`,
};

const height = z
  .strictObject({ ...base, stepHeight: z.tuple([aPlane, aPlane]) })
  .describe(
    'How far the second face lies above the first, halfway between their middles, mm: positive on the side the first faces.',
  );

export const stepHeightForm: MeasureForm<z.infer<typeof height>> = {
  schema: height,
  operands: (step) => each('stepHeight', step.stepHeight, ['plane']),
  measure(step, context) {
    const [first, second] = step.stepHeight.map((id) => context.feature(id));
    const rise = derive([first, second], (p, q) => faceStep({ plane: planeOf(p) }, { plane: planeOf(q) }));
    const { from, to, angle } = rise.value;
    const message = `The two faces are ${degreesInWords(angle)} apart: the step changes by ${lengthText(100 * Math.tan(angle))} over 100 mm, and holds halfway between them.`;
    return {
      reading: reading(
        'step-height',
        derive([rise], (r) => r.height),
      ),
      between: [from, to],
      warnings: angle > slopingAngle ? [{ code: 'not-parallel', message }] : [],
    };
  },
  inWords: ({ stepHeight: [first, second] }) => `step from ${first} to ${second}`,
};
