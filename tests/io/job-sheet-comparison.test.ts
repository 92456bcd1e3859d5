import { seededRandom } from '@fettle/geom';
import { compareScans, type NamedResults, scanComparisonCsv, scanComparisonTable } from '@fettle/io';
import { describe, expect, test } from 'vitest';

/** One hole, its diameter on a scan; limits 9.9 to 10.1. */
const scan = (name: string, diameter: number, frame = 'datum', uncertainty = 0.02): NamedResults => ({
  name,
  results: {
    title: 'Plate',
    warnings: [],
    passed: diameter <= 10.1,
    sheet: [
      {
        balloon: 1,
        id: 'hole',
        step: 'fit',
        what: 'circle',
        frame,
        warnings: [],
        values: [
          { name: 'x', value: 40, unit: 'mm', uncertainty: 0.02 },
          {
            name: 'diameter',
            value: diameter,
            unit: 'mm',
            uncertainty,
            limits: { min: 9.9, max: 10.1 },
            verdict: diameter <= 10.1 ? 'within' : 'outside',
          },
        ],
      },
    ],
  },
});

const diameters = (...values: number[]) =>
  compareScans(values.map((value, i) => scan(`s${i + 1}`, value))).rows.find((row) => row.name === 'diameter')!;

describe('scans beside each other', () => {
  // The textbook example of a sample deviation: 2, 4, 4, 4, 5, 5, 7, 9 have mean 5 and Σ(x − 5)² = 32.
  test('mean and spread', () => {
    const row = diameters(2, 4, 4, 4, 5, 5, 7, 9);
    expect(row.mean).toBeCloseTo(5, 14);
    expect(row.standardDeviation).toBeCloseTo(Math.sqrt(32 / 7), 14);
    expect(row.range).toBe(7);
    expect(row.farthest).toEqual({ scan: 's8', off: 4 });
  });

  test('of one scan there is no spread, of two none is farther off', () => {
    expect(diameters(10).standardDeviation).toBeUndefined();
    expect(diameters(10, 10.2).farthest).toBeUndefined();
    expect(diameters(10, 10, 10)).toMatchObject({ mean: 10, standardDeviation: 0, range: 0 });
    expect(diameters(10.3, 10.3, 10.3).farthest).toBeUndefined();
  });

  test('figures do not depend on the order, to the last bit', () => {
    const random = seededRandom(5);
    const scans = Array.from({ length: 40 }, (_, i) => scan(`s${i}`, 10 + random.normal() * 1e-3));
    const figures = (list: readonly NamedResults[]) =>
      compareScans(list).rows.map(({ mean, standardDeviation, range, farthest }) => ({
        mean,
        standardDeviation,
        range,
        farthest,
      }));
    const shuffled = scans.map((one) => ({ one, key: random.next() })).sort((a, b) => a.key - b.key);
    expect(figures(shuffled.map(({ one }) => one))).toEqual(figures(scans));
  });

  test('of two equally far off the first by name is named', () => {
    const set = (names: string[], values: number[]) =>
      compareScans(names.map((name, i) => scan(name, values[i]!))).rows[1];
    expect(set(['b', 'a', 'm'], [9, 11, 10])?.farthest?.scan).toBe('a');
    expect(set(['a', 'b', 'm'], [9, 11, 10])?.farthest?.scan).toBe('a');
  });

  test('a size the plan gives is the same on all and left out', () => {
    const known = (name: string): NamedResults => {
      const { results } = scan(name, 10);
      const [hole] = results.sheet;
      const [x, diameter] = hole!.values;
      return { name, results: { ...results, sheet: [{ ...hole!, values: [x!, { ...diameter!, given: true }] }] } };
    };
    expect(compareScans([known('a'), known('b')]).rows.map((row) => row.name)).toEqual(['x']);
  });

  test('which scans fail a limit', () => {
    const comparison = compareScans([scan('a', 10), scan('b', 10.2), scan('c', 10.15)]);
    expect(comparison.passed).toBe(false);
    expect(comparison.rows[1]?.outside).toEqual(['b', 'c']);
    expect(scanComparisonTable(comparison)).toContain('1 hole: diameter is outside on b, c.');
  });

  test('on which scans a verdict could be the other', () => {
    // Limits 9.9 to 10.1, ± 0.02: 10.09 is within and 10.11 outside by less than that.
    const comparison = compareScans([scan('a', 10), scan('b', 10.09), scan('c', 10.11)]);
    expect(comparison.rows[1]).toMatchObject({ outside: ['c'], unsure: ['b', 'c'] });
    const text = scanComparisonTable(comparison);
    expect(text).toContain('1 hole: diameter is unsure on b, c.');
    expect(text).toContain('unsure: limit inside the ±, or no ± known; the verdict could be the other.');
    expect(scanComparisonTable(compareScans([scan('a', 10), scan('b', 10.05)]))).not.toContain('unsure');
  });

  test('files of the same name are told apart by their folders; others need no list', () => {
    const file = (name: string, path: string): NamedResults => ({ ...scan(name, 10), path });
    const same = compareScans([file('pump', 'monday/pump.ply'), file('pump-2', 'tuesday\\Pump.obj')]);
    expect(same.paths).toEqual(['monday/pump.ply', 'tuesday\\Pump.obj']);
    const lines = scanComparisonTable(same).split('\n');
    expect(lines.slice(1, 4)).toEqual([
      '2 scans: pump, pump-2',
      '- pump: monday/pump.ply',
      '- pump-2: tuesday\\Pump.obj',
    ]);
    const apart = compareScans([file('a', 'monday/a.ply'), file('b', 'monday/b.ply')]);
    expect(scanComparisonTable(apart)).not.toContain('monday');
  });

  test('coordinates without a datum frame are not comparable, and it says so', () => {
    const codes = (frame: string) =>
      compareScans([scan('a', 10, frame), scan('b', 10, frame)]).warnings.map((w) => w.code);
    expect(codes('scan')).toEqual(['not-in-a-frame']);
    expect(codes('datum')).toEqual([]);
  });

  test('warnings of the scans are told once a feature and kind, with the scans that have them', () => {
    const warned = (name: string, message: string): NamedResults => {
      const { results } = scan(name, 10);
      const [hole] = results.sheet;
      return { name, results: { ...results, sheet: [{ ...hole!, warnings: [{ code: 'short-arc', message }] }] } };
    };
    const told = (...scans: NamedResults[]) => compareScans(scans).warnings.map(({ message }) => message);
    expect(told(warned('a', 'An arc of 40°.'), scan('b', 10))).toEqual(['1 hole, on a: An arc of 40°.']);
    expect(told(warned('a', 'An arc of 40°.'), warned('b', 'An arc of 41°.'))).toEqual([
      '1 hole, on all scans: An arc of 40°. (In the figures of a.)',
    ]);
    expect(told(scan('c', 10), warned('a', 'An arc of 40°.'), warned('b', 'An arc of 41°.'))).toEqual([
      '1 hole, on a, b: An arc of 40°. (In the figures of a.)',
    ]);
  });

  test('a value that one scan lacks is left out of its mean, and it says so', () => {
    const short = scan('b', 10);
    const lacking = {
      ...short,
      results: {
        ...short.results,
        sheet: [{ ...short.results.sheet[0]!, values: short.results.sheet[0]!.values.slice(0, 1) }],
      },
    };
    const comparison = compareScans([scan('a', 9), lacking, scan('c', 11)]);
    expect(comparison.rows[1]).toMatchObject({ values: [9, undefined, 11], mean: 10 });
    expect(comparison.warnings[0]?.message).toContain('no diameter on b');
  });
});

describe('as text', () => {
  const comparison = compareScans([scan('first', 10), scan('second', 10.06), scan('third', 10.02)]);

  test('a column a scan, then mean, spread and who is farthest off', () => {
    const line = scanComparisonTable(comparison, { width: 120 })
      .split('\n')
      .find((one) => one.includes('diameter'));
    expect(line?.replaceAll(/ +/g, ' ').trim()).toBe(
      'diameter mm 10.000 10.060 10.020 10.027 0.031 0.060 +0.033 second',
    );
  });

  test('scans that agree better than their uncertainty show a spread all the same', () => {
    const close = compareScans([
      scan('a', 50.123, 'datum', 1.2),
      scan('b', 50.131, 'datum', 1.2),
      scan('c', 50.126, 'datum', 1.2),
    ]);
    const line = scanComparisonTable(close, { width: 120 })
      .split('\n')
      .find((one) => one.includes('diameter'));
    // Σ(x − 50.12667)² = 0.0000327, over 2, the root: 0.0040. The uncertainty of 1.2 mm alone would leave one decimal.
    expect(line?.replaceAll(/ +/g, ' ').trim()).toContain('mm 50.123 50.131 50.126 50.127 0.004 0.008 +0.004 b');
  });

  test('axes told at different places on different scans are warned of', () => {
    const at = (name: string, where: string): NamedResults => {
      const { results } = scan(name, 10);
      return { name, results: { ...results, sheet: [{ ...results.sheet[0]!, where }] } };
    };
    const told = (...scans: NamedResults[]) => compareScans(scans).warnings.map(({ code }) => code);
    const [low, high] = ['x and y where its axis crosses z = 0', 'x and y where its axis crosses z = 10'];
    expect(told(at('a', low), at('b', high))).toContain('told-elsewhere');
    expect(told(at('a', low), at('b', low))).not.toContain('told-elsewhere');
  });

  test('narrow, the scans’ own columns give way', () => {
    const text = scanComparisonTable(comparison, { width: 84 });
    expect(text).not.toContain('10.060');
    expect(text).toContain('10.027');
    expect(text).toContain('all-scans.csv');
  });

  test('CSV has a record a value and a column a scan', () => {
    const [head, , record] = scanComparisonCsv(comparison).split('\r\n');
    expect(head).toBe(
      'balloon,id,what,frame,dimension,unit,first,second,third,' +
        'mean,standard deviation,range,farthest off,off by,uncertainty,min,max,outside,unsure',
    );
    expect(record).toBe(
      '1,hole,circle,datum,diameter,mm,10.0000,10.0600,10.0200,10.0267,0.0306,0.0600,second,0.0333,0.0200,9.9,10.1,,',
    );
  });
});
