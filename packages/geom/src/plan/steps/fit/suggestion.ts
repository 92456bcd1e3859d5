import type { Warning } from '../../../error.js';
import { suggestShape } from '../../../fit/by-kind/suggest-shape.js';
import type { Points } from '../../../scan/scan.js';
import { withArticle } from '../../../text/in-words.js';
import { lengthText } from '../../../text/number-text.js';
import type { Shape } from './schema.js';

/** From this difference of the criterion on a suggestion is settled: see {@link suggestShape}. */
const SETTLED = 6;

/** Which shape the points are by themselves, in words; a warning where that is clearly another than the one fitted. */
export function suggestionFor(
  shape: Shape,
  points: Points,
): { readonly words: string; readonly warnings: readonly Warning[] } {
  const { kind, reason, by, candidates } = suggestShape(points);
  const words = `the shape of the points: ${reason.charAt(0).toLowerCase()}${reason.slice(1, -1)}`;
  if (kind === shape || by < SETTLED) return { words, warnings: [] };
  const { feature } = candidates[0]!;
  const size = 'radius' in feature ? ` of radius ${lengthText(Number(feature.radius.toPrecision(3)))}` : '';
  return {
    words,
    warnings: [
      {
        code: 'another-shape',
        message:
          `Fitted as ${withArticle(shape)}, but by themselves the points are rather ${withArticle(kind)}${size}. Look whether the ` +
          'region is the right one, or fit that.',
      },
    ],
  };
}
