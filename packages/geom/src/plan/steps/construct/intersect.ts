import { z } from 'zod';
import { intersect } from '../../../construct/intersect.js';
import type { Feature } from '../../../feature/feature.js';
import { haveAxis } from '../../../feature/roles.js';
import { together } from '../../../text/in-words.js';
import { positiveLength } from '../../step/fields.js';
import { type ConstructForm, each, type OperandKinds } from '../../step/form.js';
import { aFeature, base } from './base.js';

const schema = z
  .strictObject({
    ...base,
    intersect: z
      .array(aFeature)
      .min(2)
      .max(3)
      .describe(
        'Two planes: their line. Three planes: their point. A plane and a line or an axis, or two of those: their point.',
      ),
    within: positiveLength.optional().describe('Of two axes: how far apart they may pass, mm; default 1.'),
  })
  .describe('Where features meet.');

/** What planes and axes have in common: a line, a point, or nothing that could be told. A circle enters by its axis. */
function meeting(kinds: OperandKinds): 'line' | 'point' | 'nothing' {
  const planes = kinds.filter((kind) => kind === 'plane').length;
  if (kinds.length === 3) return planes === 3 ? 'point' : 'nothing';
  return planes === 2 ? 'line' : 'point';
}

export const intersectForm: ConstructForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => each('intersect', step.intersect, ['plane', ...haveAxis]),
  yields(_step, kinds) {
    const kind = kinds.includes(undefined) ? 'nothing' : meeting(kinds);
    return kind === 'nothing' ? undefined : kind;
  },
  object(step, kinds) {
    if (kinds.includes(undefined) || meeting(kinds) !== 'nothing') return [];
    return [
      {
        path: ['intersect'],
        expected: 'two planes, three planes, a plane and an axis, or two axes',
        found: step.intersect.map((id, i) => `${id} (${kinds[i]})`).join(', '),
      },
    ];
  },
  make: (step, features) =>
    intersect(features as readonly Feature[], step.within === undefined ? {} : { within: step.within }),
  inWords: (step, { kind }) => `${kind} where ${together(step.intersect)} meet`,
};
