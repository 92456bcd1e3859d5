import type { ByHand } from '../../fields.js';
import type { FitStep } from './schema.js';

const criteria = {
  'least-squares': 'least squares',
  'minimum-zone': 'minimum zone',
  'maximum-inscribed': 'maximum inscribed',
  'minimum-circumscribed': 'minimum circumscribed',
} as const;

/** A fit in a few words: `circle in top to left-rim, least squares, diameter 18 mm given`. */
export function inWords({ shape, to, plane, criterion = 'least-squares', trim, known = {} }: FitStep): string {
  const parts = [
    `${shape}${plane === undefined ? '' : ` in ${plane}`} to ${to === 'all' ? 'the entire scan' : to}`,
    criteria[criterion],
  ];
  if (trim !== undefined) parts.push(`${Number((100 * trim).toPrecision(3))} % trimmed`);
  const say = (name: string, value: ByHand | undefined, unit: string) => {
    if (value === undefined) return;
    if (typeof value === 'number') parts.push(`${name} ${value}${unit} given`);
    else parts.push(`${name} ${value.value} ± ${value.uncertainty}${unit} ${value.prior ? 'weighed in' : 'given'}`);
  };
  say('radius', known.radius, ' mm');
  say('diameter', known.diameter, ' mm');
  say('half-angle', known.halfAngle, '°');
  if (known.direction !== undefined)
    parts.push(`direction ${typeof known.direction === 'string' ? `of ${known.direction}` : 'given'}`);
  return parts.join(', ');
}
