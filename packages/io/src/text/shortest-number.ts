/** The fewest digits that give the double back; the sign of zero too. */
export const digits = (x: number): string => (Object.is(x, -0) ? '-0' : String(x));

/** The fewest digits up to nine that give the single back. */
export function single(x: number): string {
  if (x === 0 || !Number.isFinite(x)) return digits(x === 0 ? x : 0);
  for (let precision = 6; precision < 9; precision++) {
    const text = Number(x.toPrecision(precision));
    if (Math.fround(text) === x) return digits(text);
  }
  return digits(Number(x.toPrecision(9)));
}
