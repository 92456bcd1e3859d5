import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkPlan, FettleError, type Results, runPlan } from '@fettle/geom';
import { CAUTION, readScan, reportHtml } from '@fettle/io';
import { measureFile } from '@fettle/io/node';
import { afterAll, describe, expect, test } from 'vitest';
import { elementsOf } from './markup.js';
import { platePlan, platePly } from './plate.js';
import { decodePng } from './png-decode.js';

const sha256 = `${'c0ffee'.repeat(10)}beef`;
const steps = (platePlan({ min: 15.9, max: 15.95 }) as { steps: object[] }).steps;
const plan = checkPlan({
  version: 1,
  title: 'Plate <3 & "friends"',
  steps: [
    ...steps.map((step) => ('note' in step ? { ...step, note: '<script>alert(1)</script>' } : step)),
    { step: 'section', id: 'half-way', axis: 'z', at: 5, in: 'datum', note: 'Through the bore.' },
    { step: 'section', id: 'through-air', axis: 'z', at: 5, in: 'datum' },
    {
      step: 'fit',
      id: 'ring',
      shape: 'circle',
      to: 'half-way',
      stretch: { box: { min: [-75, 15, 4], max: [-45, 45, 6] } },
      in: 'datum',
    },
  ],
});
const scan = await readScan(new TextEncoder().encode(platePly()), { name: 'plate.ply' });
const measured = runPlan(plan, scan);
const results: Results = {
  ...measured,
  warnings: [...measured.warnings, { code: 'units-assumed', message: 'The file says no units: mm were taken.' }],
};
const options = {
  source: { file: 'plate.ply', sha256, bytes: 1234 },
  date: '2026-03-14',
  creator: 'Workshop',
  versions: { node: '20.0.0' },
};
const page = reportHtml(results, scan, options);
const elements = elementsOf(page, 'html');
const textOf = (name: string): string => elements.find((e) => e.name === name)!.text;
const body = textOf('body')
  .replaceAll('&lt;', '<')
  .replaceAll('&gt;', '>')
  .replaceAll('&quot;', '"')
  .replaceAll('&amp;', '&');

describe('one file', () => {
  test('it refers to nothing outside itself and runs nothing', () => {
    const words = page.replaceAll(/base64,[A-Za-z0-9+/=]+/g, '');
    expect(/https?:|\/\/|url\(|@import/i.exec(words)?.[0]).toBeUndefined();
    for (const { name, attributes } of elements) {
      expect(['script', 'link', 'iframe', 'object', 'base']).not.toContain(name);
      for (const key of ['src', 'href', 'xlink:href'])
        if (attributes[key] !== undefined) expect(attributes[key]).toMatch(/^(data:image\/png;base64,|#)/);
      expect(Object.keys(attributes).filter((key) => key.startsWith('on'))).toEqual([]);
    }
  });

  test('its pictures are whole PNG files', () => {
    const sources = elements.flatMap(({ attributes }) => attributes.src ?? attributes.href ?? []);
    expect(sources.length).toBeGreaterThanOrEqual(3);
    for (const source of sources) {
      const { width, height } = decodePng(Buffer.from(source.slice('data:image/png;base64,'.length), 'base64'));
      expect(Math.min(width, height)).toBeGreaterThan(0);
    }
  });

  test('the same measurement gives the same bytes', () => {
    expect(reportHtml(results, scan, options)).toBe(page);
  });

  test('words of plans and files are words, not markup', () => {
    expect(textOf('title')).toBe('Plate &lt;3 &amp; &quot;friends&quot;: plate.ply');
    expect(body.includes('<script>alert(1)</script>')).toBe(true);
  });
});

describe('what it tells', () => {
  test('every row of the sheet with every value', () => {
    const sheet = elements.find((e) => e.name === 'table' && e.attributes.class === 'sheet')!.text;
    const numbers = elements.filter((e) => e.name === 'td' && e.attributes.class?.startsWith('n')).map((e) => e.text);
    for (const row of results.sheet) {
      expect(elements.some(({ attributes }) => attributes.id === `row-${row.balloon}`)).toBe(true);
      // Read as a person does: a space that does not break is a space.
      const read = body.replaceAll('\u00a0', ' ');
      for (const text of [row.id, row.what, row.uncertainty ?? '']) expect(read.includes(text), text).toBe(true);
      for (const { name, value, uncertainty = 0.001 } of row.values) {
        expect(sheet.includes(name), name).toBe(true);
        // With the decimals the uncertainty allows, a value is off by a twentieth of it at most.
        const isThere = numbers.some((text) => Math.abs(Number(text) - value) <= Math.max(uncertainty / 19, 0.00051));
        expect(isThere, `${row.id} ${name}`).toBe(true);
      }
    }
  });

  test('what is outside its limits, in words and first', () => {
    const bore = results.sheet.find(({ id }) => id === 'bore')!.values.find(({ name }) => name === 'diameter')!;
    expect(bore.verdict).toBe('outside');
    expect(body.includes('Outside limits')).toBe(true);
    expect(body).toMatch(/bore: diameter 1[56]\.\d+ mm; it should be 15\.9 to 15\.95 mm/);
    expect(body.indexOf('it should be')).toBeLessThan(body.indexOf('Job sheet'));
  });

  test('warnings of the whole and of features, the caution, and where it all comes from', () => {
    expect(body.includes('The file says no units: mm were taken.')).toBe(true);
    const text = body.replaceAll('\u00a0', ' ');
    const told = new Set<string>();
    for (const { code, message } of results.sheet.flatMap((row) => row.warnings)) {
      // What many features have is told of the first; the others are named.
      if (code === 'noise-unknown' && told.has(code)) expect(text).toContain('Likewise');
      else expect(text).toContain(message);
      told.add(code);
    }
    expect(body.includes(CAUTION)).toBe(true);
    for (const text of [sha256, 'plate.ply', '2026-03-14', 'Workshop', 'node 20.0.0', '1,234 bytes'])
      expect(body.includes(text)).toBe(true);
    // The plan is printed so that it can be run again.
    const printed = elements.find(({ name }) => name === 'pre')!.text;
    const plain = printed
      .replaceAll('&lt;', '<')
      .replaceAll('&gt;', '>')
      .replaceAll('&quot;', '"')
      .replaceAll('&amp;', '&');
    expect(checkPlan(JSON.parse(plain))).toEqual(plan);
    // A step a line, so that a person can read it.
    const lines = plain.split('\n').filter((line) => line.includes('"step": '));
    expect(lines.map((line) => (JSON.parse(line.trim().replace(/,$/, '')) as { id: string }).id)).toEqual(
      plan.steps.map(({ id }) => id),
    );
  });

  test('the scan cut open at each section', () => {
    const cuts = elements.filter(({ name, attributes }) => name === 'img' && attributes.alt?.includes('Cut open at'));
    expect(cuts.map(({ attributes }) => /section “([^”]+)”/.exec(attributes.alt!)![1])).toEqual([
      'half-way',
      'through-air',
    ]);
  });

  test('each fit has a residual map and a histogram, fits to sections too', () => {
    const fits = results.outcomes.filter(({ kind }) => kind === 'fit').length;
    const labels = elements.flatMap(({ name, attributes }) => (name === 'svg' ? [attributes['aria-label'] ?? ''] : []));
    expect(labels.filter((label) => label.startsWith('Residual map'))).toHaveLength(fits);
    expect(labels.filter((label) => label.startsWith('Histogram'))).toHaveLength(fits);
    expect(labels.filter((label) => label.startsWith('Section “'))).toHaveLength(2);
  });

  test('the bars of a histogram add up to its points', () => {
    const top = results.outcomes.find((o) => o.kind === 'fit' && o.id === 'top');
    if (top?.kind !== 'fit') throw new Error('no top');
    const from = page.indexOf(`Histogram of ${top.fit.count.toLocaleString('en-US')} residuals`);
    const svg = page.slice(from, page.indexOf('</svg>', from));
    const heights = [...svg.matchAll(/height="([\d.]+)" fill="rgb/g)].map(([, h]) => Number(h));
    // All bars are of one scale; the largest is 164 high.
    const most = Math.max(...heights);
    expect(most).toBeCloseTo(164, 3);
    const counts = heights.map((h) => (h / 164) * modeCount(top.fit.residuals));
    expect(Math.round(counts.reduce((sum, c) => sum + c, 0))).toBe(top.fit.count);
  });

  /** Most residuals in one of 41 bars over the range the axis states. */
  function modeCount(residuals: Float64Array): number {
    const sizes = Array.from(residuals, Math.abs).sort((a, b) => a - b);
    const size = sizes[Math.floor(0.98 * (sizes.length - 1))]!;
    const range = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1].find((r) => r >= size)!;
    const counts = new Array<number>(41).fill(0);
    for (const r of residuals) counts[Math.max(0, Math.min(40, Math.floor(((r / range + 1) / 2) * 41)))]!++;
    return Math.max(...counts);
  }
});

describe('accessible', () => {
  test('language, one main heading, no heading level skipped, every picture described', () => {
    expect(elements.find(({ name }) => name === 'html')!.attributes.lang).toBe('en');
    const levels = elements.filter(({ name }) => /^h[1-6]$/.test(name)).map(({ name }) => Number(name[1]));
    expect(levels.filter((level) => level === 1)).toHaveLength(1);
    levels.forEach((level, i) => void expect(level - (levels[i - 1] ?? 0)).toBeLessThanOrEqual(1));
    for (const { name, attributes } of elements) {
      if (name === 'img') expect(attributes.alt!.length).toBeGreaterThan(20);
      if (name === 'svg')
        expect(attributes).toMatchObject({ role: 'img', 'aria-label': expect.stringMatching(/.{10}/) });
      if (name === 'th') expect(attributes.scope).toMatch(/^(col|row|rowgroup)$/);
    }
  });

  // WCAG 2.2, 1.4.3: 4.5 for text; relative luminance as defined there.
  test.each(['#16191d', '#4d555e', '#a02c20'])('text in %s stands out from paper', (color) => {
    const style = textOf('style');
    expect(style).toContain(color);
    const luminance = (hex: string): number => {
      const [r, g, b] = [1, 3, 5].map((i) => {
        const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
        return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
      }) as [number, number, number];
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    expect(1.05 / (luminance(color) + 0.05)).toBeGreaterThan(4.5);
    expect((luminance('#f4f2ec') + 0.05) / (luminance(color) + 0.05)).toBeGreaterThan(4.5);
  });
});

describe('delivered', () => {
  const folder = mkdtempSync(join(tmpdir(), 'fettle-report-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test('a plan writes report, sheet and picture; the report names the file by its SHA-256', async () => {
    const path = join(folder, 'plate.ply');
    writeFileSync(path, platePly());
    const delivering = {
      ...plan,
      steps: [
        ...plan.steps,
        {
          step: 'deliver',
          id: 'light',
          scan: { format: 'ply', simplify: { triangles: 3000, protect: ['bore-points'] } },
        },
        { step: 'deliver', id: 'file-card', report: { creator: 'Bench 3' } },
        { step: 'deliver', id: 'template', drawing: { of: 'half-way' } },
        { step: 'deliver', id: 'overview', drawing: { view: 'front', paper: 'A3' } },
        { step: 'deliver', id: 'photo', picture: { view: 'front-right', width: 320 } },
      ],
    };
    const delivered = await measureFile(delivering, path, { out: join(folder, 'out') });
    if (delivered.error) throw delivered.error;
    const names = delivered.files.map((file) => file.slice(join(folder, 'out').length + 1));
    expect(names).toEqual([
      'results.json',
      'job-sheet.csv',
      'light.ply',
      'file-card.html',
      'template.svg',
      'overview.svg',
      'photo.png',
    ]);
    const report = readFileSync(join(folder, 'out', 'file-card.html'), 'utf8');
    expect(report).toContain(createHash('sha256').update(readFileSync(path)).digest('hex'));
    expect(report).toContain('Bench 3');
    expect(report).toMatch(
      /light<\/strong>: delivered as PLY in mm, as scanned; 4,264 triangles simplified to [\d,]+; measured afterwards/,
    );
    expect(elementsOf(readFileSync(join(folder, 'out', 'template.svg'), 'utf8'), 'xml')[0]!.attributes.width).toMatch(
      /mm$/,
    );
    expect(elementsOf(readFileSync(join(folder, 'out', 'overview.svg'), 'utf8'), 'xml')[0]!.attributes.width).toBe(
      '420mm',
    );
    expect(decodePng(readFileSync(join(folder, 'out', 'photo.png')))).toMatchObject({ width: 320, height: 200 });
  });

  test('figures are not broken: a ± stays with its number, a number with its unit, k with its value', () => {
    const report = reportHtml(results, scan);
    const sheet = report.slice(report.indexOf('<h2>Job sheet'), report.indexOf('<h2>Datum frame'));
    expect(sheet).toMatch(/95\u00a0%, k\u00a0=\u00a0\d\.\d/);
    expect(sheet).not.toMatch(/± \d|\d mm\b|k = /);
  });

  test('results without outcomes make no report', () => {
    const act = () => reportHtml({ ...results, outcomes: [] }, scan);
    expect(act).toThrow(FettleError);
    expect(act).toThrow('Measure with outcomes');
  });
});
