import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readDecimal } from '../../packages/io/src/read/decimal.js';

const bytes = new Uint8Array(512);
const out = new Float64Array(1);

/** What the reader makes of the text, standing before a blank; undefined if it is no number. */
function read(text: string): number | undefined {
  bytes.fill(0x39);
  const { written } = new TextEncoder().encodeInto(`${text} `, bytes);
  return readDecimal(bytes, 0, out, 0) === written - 1 ? out[0] : undefined;
}

const digits = (min: number, max: number) =>
  fc.string({ unit: fc.constantFrom(...'0123456789'), minLength: min, maxLength: max });

/** Any double, by its bits. */
const double = fc.double({ noNaN: true, noDefaultInfinity: true });

describe('a decimal number is read as parseFloat reads it, to the last bit', () => {
  it('however many digits, wherever the point, whatever the exponent', () => {
    const written = fc
      .tuple(
        fc.constantFrom('', '-', '+'),
        digits(0, 22),
        fc.constantFrom('', '.'),
        digits(0, 22),
        fc.option(fc.tuple(fc.constantFrom('e', 'E', 'e-', 'e+'), fc.integer({ min: 0, max: 330 }))),
      )
      .filter(([, whole, point, fraction]) => whole.length + (point === '.' ? fraction.length : 0) > 0)
      .map(([sign, whole, point, fraction, e]) => `${sign}${whole}${point}${point && fraction}${e ? e.join('') : ''}`);
    fc.assert(
      fc.property(written, (text) => {
        expect(read(text)).toBe(Number.parseFloat(text));
      }),
      { numRuns: 20_000, seed: 1 },
    );
  });

  it('as programs print doubles: shortest, fixed, in exponents', () => {
    const printed = fc.oneof(
      double.map(String),
      fc.tuple(double, fc.integer({ min: 1, max: 21 })).map(([x, n]) => x.toPrecision(n)),
      fc.tuple(double, fc.integer({ min: 0, max: 20 })).map(([x, n]) => x.toExponential(n)),
      fc
        .tuple(fc.double({ min: -1e5, max: 1e5, noNaN: true }), fc.integer({ min: 0, max: 17 }))
        .map(([x, n]) => x.toFixed(n)),
    );
    fc.assert(
      fc.property(printed, (text) => {
        expect(read(text)).toBe(Number.parseFloat(text));
      }),
      { numRuns: 20_000, seed: 2 },
    );
  });

  it('halfway between two doubles and next to it, where rounding is decided by the last digit', () => {
    fc.assert(
      fc.property(fc.bigInt({ min: 1n << 53n, max: (1n << 54n) - 4n }), fc.integer({ min: 1, max: 15 }), (m, point) => {
        for (const step of [0n, 1n, 2n, 3n]) {
          const whole = String(m + step);
          const text = `${whole.slice(0, point)}.${whole.slice(point)}`;
          expect(read(whole)).toBe(Number.parseFloat(whole));
          expect(read(text)).toBe(Number.parseFloat(text));
        }
      }),
      { numRuns: 5_000, seed: 3 },
    );
  });

  it.each(['0', '-0', '+.5', '5.', '.5e1', '1e22', '1e23', '1e-22', '1e-23', '4.9e-324', '1.7976931348623157e308'])(
    '%s',
    (text) => {
      expect(read(text)).toBe(Number.parseFloat(text));
    },
  );
});

describe('what is no number', () => {
  it.each(['', '-', '+', '.', '-.', 'e5', '1e', '1e+', '1.2.3', '1,5', '0x10', '1.5mm', '--1', '1d5', 'abc', '١'])(
    "'%s' is not read, not even its beginning",
    (text) => {
      expect(read(text)).toBeUndefined();
    },
  );

  it.each(['nan', 'NaN', '-nan', 'nan(ind)', '-nan(ind)', '1.#QNAN', '-1.#IND', 'sNaN'])(
    '%s is the word for it',
    (text) => {
      expect(read(text)).toBeNaN();
    },
  );

  it.each(['inf', '-inf', 'Infinity', '+INF', '1.#INF', '1e999', '-1e999'])('%s is infinite', (text) => {
    expect(read(text)).toBe(text.startsWith('-') ? -Infinity : Infinity);
  });
});
