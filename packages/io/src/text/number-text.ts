import { isUnknown, type Limits, passable, type SheetValue } from '@fettle/geom';

/** The finest decimal a sheet shows, mm or degrees: 0.001. */
const FINEST = 3;

/**
 * Decimals worth showing: two digits of the expanded uncertainty (JCGM 100, 7.2.6), never finer than 0.001, and 0.001
 * where no uncertainty is known.
 */
export function decimalsOf(uncertainty?: number): number {
  if (uncertainty === undefined || !Number.isFinite(uncertainty) || uncertainty <= 0) return FINEST;
  // The exponent after rounding to two digits: 0.0996 is 0.10.
  const exponent = Number(uncertainty.toExponential(1).split('e')[1]);
  return Math.min(FINEST, Math.max(0, 1 - exponent));
}

/** Fixed decimals without a minus sign on zero. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text;
}

/** A value of the sheet with the decimals its uncertainty allows. */
export const valueText = (value: SheetValue): string => fixed(value.value, decimalsOf(value.uncertainty));

/** Below a nanometer, or a microdegree, there is no doubt but rounding, mm or degrees. */
const ROUNDING = 1e-6;

/** Whether a value is what it is by definition, as a coordinate on its datum. */
export const isExact = ({ uncertainty }: SheetValue): boolean => uncertainty !== undefined && uncertainty < ROUNDING;

/**
 * The uncertainty of a value with the value's decimals, never less than one unit of the last; `given` for a size taken as given, `0`
 * for an exact value, empty where unknown.
 */
export function uncertaintyText(value: SheetValue): string {
  if (value.given) return 'given';
  if (value.uncertainty === undefined) return '';
  if (isExact(value)) return '0';
  const decimals = decimalsOf(value.uncertainty);
  return fixed(Math.max(value.uncertainty, 10 ** -decimals), decimals);
}

/** A number as a person would type it: at most `decimals` of them, no trailing zeros. */
export const shortNumber = (value: number, decimals: number = FINEST): string => String(Number(fixed(value, decimals)));

/** A count with its thousands apart: `120,331`. */
export const countText = (count: number): string => count.toLocaleString('en-US');

/** A count and its noun: `1 point`, `120,331 points`. */
export const counted = (count: number, one: string, many: string = `${one}s`): string =>
  `${countText(count)} ${count === 1 ? one : many}`;

/** Megabytes, of a million bytes, without the unit: `2.4`, `369`. */
export const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(bytes < 1e7 ? 1 : 0);

/** `10 to 10.6`, `at least 10`, `at most 10.6`; empty without limits. */
export function limitsText(limits: Limits | undefined): string {
  const { min, max } = limits ?? {};
  if (min !== undefined && max !== undefined) return `${shortNumber(min, 6)} to ${shortNumber(max, 6)}`;
  if (min !== undefined) return `at least ${shortNumber(min, 6)}`;
  if (max !== undefined) return `at most ${shortNumber(max, 6)}`;
  return '';
}

/** Whether a limit that can be passed lies inside the ± of a value, or nothing tells its ±: the verdict could be the other. */
export function isUnsure(of: SheetValue): boolean {
  const { value, uncertainty = 0 } = of;
  if (of.verdict !== undefined && isUnknown(of)) return true;
  const { min, max } = passable(of);
  return [min, max].some((limit) => limit !== undefined && Math.abs(value - limit) < uncertainty);
}

/** `within`, `OUTSIDE`, and whether that is `unsure`; empty without limits. */
export function verdictText(value: SheetValue): string {
  if (value.verdict === undefined) return '';
  return `${value.verdict === 'outside' ? 'OUTSIDE' : 'within'}${isUnsure(value) ? ', unsure' : ''}`;
}

/** What `unsure` means, for the foot of a sheet that says it. */
export const UNSURE = 'unsure: limit inside the ±, or no ± known; the verdict could be the other.';

/** Pads numbers so that their decimal points stand below each other; all come out equally long. */
export function alignDecimals(texts: readonly string[]): string[] {
  const parts = texts.map((text) => {
    const dot = text.indexOf('.');
    return dot < 0 ? { whole: text, rest: '' } : { whole: text.slice(0, dot), rest: text.slice(dot) };
  });
  const whole = Math.max(0, ...parts.map((part) => part.whole.length));
  const rest = Math.max(0, ...parts.map((part) => part.rest.length));
  return parts.map((part) => part.whole.padStart(whole) + part.rest.padEnd(rest));
}
