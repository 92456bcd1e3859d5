import type { GivenFitStep, GivenSize } from './hand-size.js';

const criteria = {
  'least-squares': 'least squares',
  'minimum-zone': 'minimum zone',
  'maximum-inscribed': 'maximum inscribed',
  'minimum-circumscribed': 'minimum circumscribed',
} as const;

/** A fit in a few words: `circle in top to left-rim, least squares, diameter 18 mm given`. */
export function inWords({
  shape,
  to,
  plane,
  criterion = 'least-squares',
  robust,
  trim,
  known = {},
}: GivenFitStep): string {
  const parts = [
    `${shape}${plane === undefined ? '' : ` in ${plane}`} to ${to === 'all' ? 'the entire scan' : to}`,
    criteria[criterion],
  ];
  if (robust) parts.push('robust start');
  if (trim !== undefined) parts.push(`${Number((100 * trim).toPrecision(3))} % trimmed`);
  const say = (name: string, value: GivenSize | undefined, unit: string) => {
    if (value === undefined) return;
    const size = typeof value === 'number' ? { value } : value;
    const doubt = 'uncertainty' in size ? ` ± ${size.uncertainty}` : '';
    const source = 'from' in size ? ` of ${size.from}` : '';
    parts.push(
      `${name} ${size.value}${doubt}${unit}${source} ${'prior' in size && size.prior ? 'weighed in' : 'given'}`,
    );
  };
  say('radius', known.radius, ' mm');
  say('diameter', known.diameter, ' mm');
  say('half-angle', known.halfAngle, '°');
  if (known.direction !== undefined)
    parts.push(`direction ${typeof known.direction === 'string' ? `of ${known.direction}` : 'given'}`);
  return parts.join(', ');
}
