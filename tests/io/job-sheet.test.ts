import type { Limits, Results, Scanner, SheetRow, SheetValue } from '@fettle/geom';
import { CAUTION, type JobSheetTableOptions, jobSheetCsv, jobSheetTable } from '@fettle/io';
import { describe, expect, test } from 'vitest';

function mm(name: string, value: number, uncertainty?: number, limits?: Limits): SheetValue {
  const { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY } = limits ?? {};
  const verdict = value >= min && value <= max ? 'within' : 'outside';
  return {
    name,
    value,
    unit: 'mm',
    ...(uncertainty !== undefined && { uncertainty }),
    ...(limits && { limits, verdict }),
  };
}

const row = (balloon: number, id: string, values: SheetValue[], more: Partial<SheetRow> = {}): SheetRow => ({
  balloon,
  id,
  step: 'fit',
  what: 'circle, least squares',
  frame: 'datum',
  values,
  warnings: [],
  ...more,
});

const results = (...sheet: SheetRow[]): Results => ({
  title: 'Adapter plate',
  plan: { version: 1, title: 'Adapter plate', steps: [] },
  scan: { name: 'pump.ply', points: 512331, triangles: 1004220 },
  outcomes: [],
  failed: [],
  warnings: [],
  passed: sheet.every((r) => r.values.every((v) => v.verdict !== 'outside')),
  sheet,
});

const hole = row(
  1,
  'hole',
  [mm('x', 40.01234, 0.0312), mm('y', -1225.0298, 0.0312), mm('diameter', 10.4812, 0.062, { min: 10, max: 10.6 })],
  { used: 1204, rejected: 33, rms: 0.0214, form: 0.1302 },
);

const lines = (sheet: Results, options?: JobSheetTableOptions): string[] => jobSheetTable(sheet, options).split('\n');
const lineOf = (sheet: Results, start: RegExp, options?: JobSheetTableOptions): string =>
  lines(sheet, options).find((line) => start.test(line)) ?? '';

describe('digits', () => {
  // JCGM 100, 7.2.6: an uncertainty has two digits at most, and its value the same decimals.
  test.each([
    [40.01234, 0.0312, '40.012 ± 0.031 mm'],
    [40.01234, 0.31, '40.01 ± 0.31 mm'],
    [40.01234, 0.0996, '40.01 ± 0.10 mm'],
    [40.01234, 3.14, '40.0 ± 3.1 mm'],
    [40.01234, 31.4, '40 ± 31 mm'],
    [140.01234, 314, '140 ± 314 mm'],
  ])('%d ± %d mm is shown as %s', (value, uncertainty, shown) => {
    expect(lineOf(results(row(1, 'hole', [mm('x', value, uncertainty)])), / x /)).toContain(shown);
  });

  test('nothing is shown finer than a micrometre, and no uncertainty as none', () => {
    expect(lineOf(results(row(1, 'hole', [mm('x', 40.0123456, 0.00002)])), / x /)).toContain('40.012 ± 0.001 mm');
    expect(lineOf(results(row(1, 'hole', [mm('x', 40.0123456)])), / x /)).toMatch(/40\.012 mm$/);
  });

  test('what is so by definition has no doubt, and the sheet says what that means', () => {
    const text = jobSheetTable(results(row(1, 'hole', [mm('x', 40.01234, 0.031), mm('z', 0, 1e-12)])));
    expect(text).toMatch(/z +0\.000 ± 0 +mm/);
    expect(text).toContain('± 0: by definition.');
  });

  test('a size taken as given says so, on the sheet and in the CSV', () => {
    const given = results(row(1, 'hole', [mm('x', 40.01234, 0.031), { ...mm('diameter', 18, 0), given: true }]));
    expect(jobSheetTable(given)).toMatch(/diameter +18\.000 mm, given/);
    expect(jobSheetTable(given)).not.toContain('± 0:');
    expect(jobSheetCsv(given)).toContain('diameter,18.000,given,mm');
  });

  test('zero has no sign', () => {
    expect(lineOf(results(row(1, 'hole', [mm('x', -0.00001, 0.01)])), / x /)).toContain(' 0.000 ± 0.010 mm');
  });

  test('decimal points stand below each other', () => {
    const sheet = results(row(1, 'hole', [mm('x', 40.01234, 0.031), mm('y', -1225.1, 0.31), mm('z', 7, 3)]));
    const points = lines(sheet).flatMap((line) => (/ ± \d/.test(line) ? [line.indexOf('.')] : []));
    expect(points).toHaveLength(3);
    expect(new Set(points).size).toBe(1);
  });
});

describe('layout', () => {
  const sheet = results(
    hole,
    row(2, 'front-edge', [mm('x', 1)], { what: 'line where the faces top and front of the body meet, in scan order' }),
  );

  test.each([120, 110, 100, 80, 60, 40])('no line is wider than %d characters', (width) => {
    expect(Math.max(...lines(sheet, { width }).map((line) => line.length))).toBeLessThanOrEqual(width);
  });

  test.each([120, 100, 40])('at %d characters everything is on the sheet', (width) => {
    const text = jobSheetTable(sheet, { width }).replaceAll(/\s+/g, ' ');
    for (const part of ['hole', '40.012 ± 0.031 mm', '10.481 ± 0.062 mm', '10 to 10.6', 'within', '1,204', '33'])
      expect(text).toContain(part);
    for (const part of ['0.021', '0.130', '512,331 points', 'front-edge', 'frame "datum"'])
      expect(text).toContain(part);
    expect(text).toContain(CAUTION);
  });

  test('points and residuals move below the values sooner than a word is broken', () => {
    const limited = mm('perpendicularity', 0.21, 0.25, { max: 0.4 });
    const text = jobSheetTable(
      results(
        row(1, 'table', [limited], { what: 'plane to near-table-start, least squares', used: 9, rejected: 1, rms: 1 }),
      ),
      { width: 105 },
    );
    expect(text).toContain('near-table-start,');
    expect(text).toContain('9 points, 1 rejected');
  });

  test('what k and a distance below 0 mean is said where they are told', () => {
    const short = jobSheetTable(results(row(1, 'hole', [mm('distance', 4, 0.1)])));
    expect(short).toContain('±: expanded uncertainty, 95 %.');
    expect(short).not.toContain('distance: below 0');
    const long = jobSheetTable(
      results(row(1, 'hole', [mm('distance', -4, 0.1)], { uncertainty: 'point ± 0.1 mm; 95 %, k = 2.0' })),
      {
        width: 300,
      },
    );
    expect(long).toContain('±: expanded uncertainty, 95 %, of k standard uncertainties. ');
    expect(long).toContain('distance: below 0 on the side of a face that its normal points away from.');
  });

  test('what the scanner is good for stands at the head, and where the plan has it from', () => {
    const on = (scanner?: Scanner) => {
      const sheet = results(hole);
      return jobSheetTable({ ...sheet, plan: { ...sheet.plan, ...(scanner && { scanner }) } }, { width: 200 });
    };
    expect(on()).toContain('\nScanner: accuracy not stated; each ± tells only how the points scatter.\n');
    expect(on({ accuracy: 0.02 })).toContain(
      '\nScanner: ± 0.02 mm as the plan states it; no ± is smaller than that allows.\n',
    );
    expect(on({ accuracy: 0.02, perMeter: 0.03, note: 'By its certificate.' })).toContain(
      '\nScanner: ± 0.02 mm + 0.03 mm per meter as the plan states it; no ± is smaller than that allows. By its certificate.\n',
    );
  });

  test('columns for limits appear only where the plan sets limits', () => {
    expect(jobSheetTable(sheet)).toContain('verdict');
    expect(jobSheetTable(results(row(1, 'hole', [mm('x', 1)])))).not.toContain('verdict');
  });

  test('where the frame of the coordinates changes the sheet says so', () => {
    const text = jobSheetTable(results(row(1, 'top', [mm('z', 1)], { frame: 'scan' }), row(2, 'hole', [mm('x', 1)])));
    expect(text.indexOf("the scan's own axes")).toBeLessThan(text.indexOf('top'));
    expect(text.indexOf('frame "datum"')).toBeGreaterThan(text.indexOf('top'));
  });

  test('a feature without values, as a plan that measures nothing, still gives a sheet', () => {
    expect(jobSheetTable(results(row(1, 'edge', [])))).toContain('edge');
    expect(jobSheetTable(results())).toContain('Adapter plate');
  });

  test.each([120, 100, 40])('how far a feature can be trusted stands with it, at %d characters', (width) => {
    const uncertainty = 'center ± 0.012 mm in its worst direction (k = 2.1)';
    const text = jobSheetTable(results({ ...hole, uncertainty }), { width });
    for (const word of uncertainty.split(' ')) expect(text).toContain(word);
  });

  test.each([120, 100, 40])('where along an axis it is told stands with it, at %d characters', (width) => {
    const text = jobSheetTable(results({ ...hole, where: 'x and z where its axis crosses y = 0' }), { width });
    expect(text.replaceAll(/\s+/g, ' ')).toContain('crosses');
  });

  test('a figure is not broken over two lines', () => {
    const uncertainty =
      'center ± 0.012 mm in its worst direction, radius ± 0.008 mm, axis ± 0.03 ° over its length (95 %, k = 2.1)';
    for (let width = 40; width <= 120; width++) {
      const text = jobSheetTable(results({ ...hole, uncertainty }), { width });
      for (const figure of ['± 0.012 mm', '± 0.008 mm', '± 0.03 °', '95 %', 'k = 2.1']) expect(text).toContain(figure);
    }
  });

  test('control characters of a name do not reach the terminal', () => {
    const named = { ...sheet, title: 'a\u001b[31mb' };
    expect(jobSheetTable(named)).not.toContain('\u001b');
  });
});

describe('verdicts and warnings', () => {
  const limited = (value: number, uncertainty?: number): string =>
    jobSheetTable(results(row(4, 'bore', [mm('diameter', value, uncertainty, { min: 40, max: 40.25 })])));

  test('a failed limit says by how much', () => {
    expect(limited(40.312, 0.01)).toContain('OUTSIDE');
    expect(limited(40.312, 0.01)).toContain('1 of 1 outside');
    expect(limited(40.312, 0.01)).toContain('4 bore: diameter 40.312 mm is 0.062 mm over 40.25 mm.');
    expect(limited(39.9, 0.01)).toContain('is 0.1 mm under 40 mm.');
  });

  test('a limit failed by less than the last digit shown is still said', () => {
    expect(limited(40.2500004, 0.0001)).toContain('is 4e-7 mm over 40.25 mm.');
  });

  test('a verdict whose limit lies inside the ± is unsure, on either side of the limit', () => {
    const of = (value: number) => results(row(1, 'hole', [mm('diameter', value, 0.062, { min: 10, max: 10.6 })]));
    expect(lineOf(of(10.4), / diameter /)).toMatch(/ within$/);
    expect(lineOf(of(10.55), / diameter /)).toMatch(/ within, unsure$/);
    expect(lineOf(of(10.65), / diameter /)).toMatch(/ OUTSIDE, unsure$/);
    expect(lineOf(of(10.7), / diameter /)).toMatch(/ OUTSIDE$/);
    expect(lineOf(of(9.95), / diameter /)).toMatch(/ OUTSIDE, unsure$/);
    const foot = 'unsure: limit inside the ±, or no ± known; the verdict could be the other.';
    expect(jobSheetTable(of(10.55))).toContain(foot);
    expect(jobSheetTable(of(10.4))).not.toContain(foot);
  });

  test('all within is said too', () => {
    expect(limited(40.1, 0.05)).toContain('none of 1 outside');
  });

  test('what was done to a delivered scan is told, but is no warning', () => {
    const done = { code: 'scan-simplified', message: 'small: 9 triangles simplified to 4' };
    const text = jobSheetTable({ ...results(hole), warnings: [done] });
    expect(text).toContain('\nFiles\n- small: 9 triangles simplified to 4\n');
    expect(text).not.toContain('Warnings');
  });

  test('warnings carry the number of their feature, and each is told once', () => {
    const warning = { code: 'short-arc', message: 'The points cover 40° of the circle.' };
    const own = { code: 'units-assumed', message: 'No units in the file: taken as mm.' };
    const sheet = { ...results(row(7, 'hole', [mm('x', 1)], { warnings: [warning] })), warnings: [warning, own] };
    const told = lines(sheet).filter((line) => line.startsWith('- '));
    expect(told).toEqual(['- 7 hole: The points cover 40° of the circle.', '- No units in the file: taken as mm.']);
  });
});

describe('further columns', () => {
  const trueValue = {
    title: 'true value',
    cell: (_row: SheetRow, value: SheetValue) => (value.name === 'x' ? 40 : undefined),
  };

  test.each([120, 40])('stand beside the values at %d characters, with their decimals', (width) => {
    const line = lineOf(results(hole), /x +40\.012/, { width, extraColumns: [trueValue] });
    const text = width === 120 ? line : jobSheetTable(results(hole), { width, extraColumns: [trueValue] });
    expect(text).toContain('40.000');
    expect(jobSheetTable(results(hole), { width, extraColumns: [trueValue] })).toContain('true value');
  });

  test('end the records of the CSV', () => {
    const [head, first, second] = jobSheetCsv(results(hole), { extraColumns: [trueValue] }).split('\r\n');
    expect(head?.endsWith(',true value')).toBe(true);
    expect(first?.endsWith(',40.000')).toBe(true);
    expect(second?.endsWith(',')).toBe(true);
  });
});

describe('CSV', () => {
  test('is a record a value, with the sheet’s digits and plain units', () => {
    const angle: SheetValue = { name: 'angle-z', value: 0.4567, unit: '°', uncertainty: 0.12 };
    const records = jobSheetCsv(results(hole, row(2, 'top', [angle]))).split('\r\n');
    expect(records).toHaveLength(6);
    expect(records[0]).toBe(
      'balloon,id,what,note,frame,where,dimension,value,uncertainty,unit,min,max,verdict,rms,form,points,rejected,trust,warnings,advice,region',
    );
    expect(records[3]).toBe(
      '1,hole,"circle, least squares",,datum,,diameter,10.481,0.062,mm,10,10.6,within,0.0214,0.1302,1204,33,,,,',
    );
    expect(records[4]).toBe('2,top,"circle, least squares",,datum,,angle-z,0.46,0.12,deg,,,,,,,,,,,');
  });

  // RFC 4180, 2.5 to 2.7.
  test('quotes commas, quotes and line breaks', () => {
    const noted = row(1, 'hole', [mm('x', 1)], { what: 'a "b",\nc' });
    expect(jobSheetCsv(results(noted))).toContain('\r\n1,hole,"a ""b"",\nc",');
  });

  test('has a record for a feature without values', () => {
    const records = jobSheetCsv(results(row(1, 'edge', []))).split('\r\n');
    const fields = records[1]!.replace('"circle, least squares"', '').split(',');
    expect(fields).toHaveLength(records[0]!.split(',').length);
  });
});
