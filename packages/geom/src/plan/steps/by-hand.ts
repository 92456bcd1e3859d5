import { haveCenter } from '../../feature/roles.js';
import { multiplesInWords } from '../../fit/known/known-comparison.js';
import { either, withArticle } from '../../text/in-words.js';
import type { Context } from '../step/context.js';
import { each, one } from '../step/form.js';
import { judge } from '../step/judge.js';
import type { Objection, OutcomeOf, StepKind } from '../step/kind.js';
import { featureKinds } from '../step/names.js';
import { fromZero } from '../step/reading.js';
import { type Advice, adviceOn, objectToAdvice } from '../step/size-advice.js';
import { agreementInWords, agreementOf, agreementValues, warningsOf } from './by-hand/agreement.js';
import { dimensionsOf, distanceOnScan, haveSize, sizeOnScan } from './by-hand/on-scan.js';
import { type ByHandStep, byHandSchemas } from './by-hand/schema.js';

export { type ByHandStep, byHandSchemas };

/** What was measured: `diameter of left-hole`, `distance from a to b along x of datum`. */
function subject(step: ByHandStep): string {
  if ('distance' in step) {
    const [first, second] = step.between;
    const along = step.along === undefined ? '' : ` along ${step.along} of ${step.in ?? 'the scan'}`;
    return `distance from ${first} to ${second}${along}`;
  }
  return step.of === undefined ? 'size' : `${step.dimension ?? 'diameter'} of ${step.of}`;
}

const nameOf = (step: ByHandStep): string =>
  'distance' in step ? 'distance' : step.of === undefined ? 'size' : (step.dimension ?? 'diameter');

/** The sizes fits took from a step, each beside what their points alone say. */
const takenInWords = (step: ByHandStep, context: Context): string[] =>
  context
    .takersOf(step.id)
    .map(
      ({ by, free, multiples, factor }) =>
        `taken by ${by}, whose points alone say ${Number(free.toFixed(3))} mm, off by ` +
        `${multiplesInWords(multiples, factor)}`,
    );

/** What the tables say of a size read off the part. */
function adviceOnReading(step: ByHandStep, context: Context): Advice {
  if ('distance' in step) return { words: [], warnings: [] };
  const { size, uncertainty, of } = step;
  const isHole = of === undefined ? undefined : context.done(of)?.isHole?.();
  const measured = {
    value: size,
    ...(uncertainty !== undefined && { uncertainty }),
    ...(isHole !== undefined && { isHole }),
  };
  return adviceOn(measured, step);
}

function compared(step: ByHandStep, value: number, context: Context): Pick<OutcomeOf<'by-hand'>, 'onScan' | 'between'> {
  if ('distance' in step) {
    const { distance, ends } = distanceOnScan(step, context);
    return { onScan: agreementOf(value, step.uncertainty, distance), between: ends };
  }
  const size = sizeOnScan(step, context);
  return size === undefined ? {} : { onScan: agreementOf(value, step.uncertainty, size) };
}

export const byHandStep: StepKind<ByHandStep, OutcomeOf<'by-hand'>> = {
  forms: byHandSchemas,
  references(step) {
    if ('distance' in step)
      return [
        ...each('between', step.between, step.along === undefined ? featureKinds : haveCenter),
        ...one('in', step.in, ['frame']),
      ];
    return one('of', step.of, haveSize);
  },
  yields: (step) => ('distance' in step ? 'value' : 'size'),
  object(step, kindOf) {
    const found: Objection[] = [];
    if ('distance' in step) {
      if (step.in !== undefined && step.along === undefined)
        found.push({ path: ['in'], expected: 'coordinates in this step: along', found: 'none' });
      return found;
    }
    found.push(...objectToAdvice(step, step.size));
    const { of, dimension } = step;
    if (of === undefined) {
      if (dimension !== undefined) found.push({ path: ['dimension'], expected: 'a feature in of', found: 'none' });
      return found;
    }
    const kind = kindOf(of);
    if (kind === undefined) return found;
    const own = dimensionsOf(kind as (typeof haveSize)[number]);
    if (!own.includes(dimension ?? 'diameter'))
      found.push({
        path: ['dimension'],
        expected: `${either(own)} of ${withArticle(kind)}`,
        found: dimension ?? 'nothing',
      });
    return found;
  },
  run(step, context) {
    const value = 'distance' in step ? step.distance : step.size;
    const name = nameOf(step);
    const { uncertainty, instrument } = step;
    const doubt = uncertainty === undefined ? ({ given: true } as const) : { uncertainty };
    const judged = judge(
      [{ name, value, unit: 'mm', ...doubt, ends: fromZero }],
      step.limits && { [name]: step.limits },
    );
    const { onScan, between } = compared(step, value, context);
    const advice = adviceOnReading(step, context);
    const warnings = [
      ...(onScan ? warningsOf(subject(step), value, onScan) : []),
      ...judged.warnings,
      ...advice.warnings,
    ];
    return {
      outcome: {
        kind: 'by-hand',
        id: step.id,
        value: judged.values[0]!,
        ...(instrument !== undefined && { instrument }),
        ...(onScan && { onScan }),
        ...(between && { between }),
        warnings,
      },
      row() {
        const words = [...(onScan ? [agreementInWords(onScan)] : []), ...takenInWords(step, context)];
        return {
          what: `${subject(step)} by hand${instrument === undefined ? '' : `, ${instrument}`}`,
          values: [...judged.values, ...(onScan ? agreementValues(onScan) : [])],
          ...(words.length > 0 && { uncertainty: words.join('; ') }),
          ...(advice.words.length > 0 && { advice: advice.words }),
          warnings,
        };
      },
    };
  },
};
