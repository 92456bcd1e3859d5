import { FettleError } from '../../error.js';
import type { Feature, FeatureKind } from '../../feature/feature.js';
import { isFiniteVec3, length } from '../../math/vec3.js';
import { together, withArticle } from '../../text/in-words.js';
import { givenText } from '../../text/number-text.js';

/** What a feature is told by: places, directions (any but zero), numbers. */
const FIELDS: Partial<Record<FeatureKind, readonly [readonly string[], readonly string[], readonly string[]]>> = {
  plane: [['point'], ['normal'], []],
  line: [['point'], ['direction'], []],
  circle: [['center'], ['normal'], ['radius']],
  sphere: [['center'], [], ['radius']],
  cylinder: [['point'], ['direction'], ['radius']],
  cone: [['apex'], ['direction'], ['halfAngle']],
  slot: [['center'], ['normal', 'direction'], ['length', 'width']],
  ellipse: [['center'], ['normal', 'direction'], ['major', 'minor']],
};

/**
 * A start of another kind would be read as numbers it does not have, and one that is not finite would come out as it went in.
 *
 * @throws FettleError `bad-option`
 */
export function refuseBadStart(kind: FeatureKind, initial: Feature | undefined): void {
  if (initial === undefined) return;
  if (initial?.kind !== kind)
    throw new FettleError(
      'bad-option',
      `initial is ${initial?.kind ? withArticle(initial.kind) : 'no feature'}: to fit ${withArticle(kind)} start from ` +
        `${withArticle(kind)}, or leave it out.`,
    );
  const [places, directions, numbers] = FIELDS[kind] ?? [[], [], []];
  const fields = initial as unknown as Record<string, unknown>;
  const bad = [
    ...places.filter((name) => !isFiniteVec3(fields[name])),
    ...directions.filter((name) => {
      const direction = fields[name];
      return !(isFiniteVec3(direction) && length(direction) > 0);
    }),
    ...numbers.filter((name) => !Number.isFinite(fields[name])),
  ][0];
  if (bad === undefined) return;
  const own = [...places, ...directions, ...numbers];
  throw new FettleError(
    'bad-option',
    `initial cannot be a start: its ${bad} is ${givenText(fields[bad])}. ${withArticle(kind).replace('a', 'A')} is told by ${together(own)}, ` +
      'finite, directions not all 0.',
  );
}
