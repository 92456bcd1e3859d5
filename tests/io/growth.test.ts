import { readdirSync, readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import type { Drawing } from '@fettle/io';
import { parseAst } from 'rolldown/parseAst';
import { analyse, type Literal } from 'scslre';
import { describe, expect, it, vi } from 'vitest';
import { countedSteps } from './counted-steps.js';
import { zipFile } from './zip-file.js';

// Behind the start of counting.
const { FettleError, pointSpacing } = await import('@fettle/geom');
const { planFromText, readScan, writeSvg } = await import('@fettle/io');
const { wrapText } = await import('../../packages/io/src/text/text-layout.js');

const source = new URL('../../packages/io/src/', import.meta.url);
/** What sees text that somebody else wrote: files, and what is printed of them. */
const folders = ['read', 'report', 'drawing', 'text', 'labels', 'deliver', 'write', 'step', 'node', 'node/commands'];

interface Expression {
  readonly source: string;
  readonly flags: string;
}

/** The regular expressions written down in a source file. */
function expressionsIn(path: URL): Expression[] {
  const found: Expression[] = [];
  JSON.stringify(parseAst(readFileSync(path, 'utf8'), { lang: 'ts' }), (key, value: unknown) => {
    const { pattern, flags } = (key === 'regex' ? value : {}) as { pattern?: string; flags?: string };
    if (pattern !== undefined) found.push({ source: pattern, flags: flags ?? '' });
    return typeof value === 'bigint' ? String(value) : value;
  });
  return found;
}

/** Whether matching can take more steps than a multiple of the text's length: by backtracking, or by starting at every character anew. */
function isSuperlinear({ source: pattern, flags }: Expression): boolean {
  const { reports } = analyse({ source: pattern, flags: flags.replace('v', 'u') } as Literal, {
    reportTypes: { Move: true, Self: true, Trade: true },
  });
  return reports.length > 0;
}

describe('regular expressions of packages/io, by the analysis of scslre', () => {
  it('that the analysis is there to find are found', () => {
    for (const bad of [/\bunits?\b\s*[:=]?\s*([a-z]+)\b/i, /([^\s=:/]+)\s*=\s*"/g, /^"?([^"[(]*?)"?\s*(?:\[x\])?"?$/]) {
      expect(isSuperlinear(bad), String(bad)).toBe(true);
    }
  });

  it.each(folders)('those of %s take steps in proportion to the text', (folder) => {
    const names = readdirSync(new URL(`${folder}/`, source)).filter((name) => name.endsWith('.ts'));
    const bad = names.flatMap((name) =>
      expressionsIn(new URL(`${folder}/${name}`, source))
        .filter(isSuperlinear)
        .map((e) => `${folder}/${name}: /${e.source}/${e.flags}`),
    );
    expect(names.length).toBeGreaterThan(0);
    expect(bad).toEqual([]);
  });
});

const text = (s: string) => new TextEncoder().encode(s);
const blanks = (n: number) => ' '.repeat(n);
const row = '1 2 3\n';
const ply = (header: string, rows = '') =>
  `ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n${header}end_header\n${rows}`;
const model = (content: string) => zipFile([{ name: '3D/3dmodel.model', content, isStored: true }]);

/** Files of n bytes or so, each made to take a careless reader n² steps. */
const hostile: readonly (readonly [string, (n: number) => Uint8Array])[] = [
  ['a comment of OBJ with a unit and blanks', (n) => text(`# unit${blanks(n)}-\nv 1 2 3\nv 1 2 4\n`)],
  ['a comment of a point list with many units', (n) => text(`# ${'unit '.repeat(n / 5)}-\n${row}${row}`)],
  ['the same, compressed', (n) => new Uint8Array(gzipSync(text(`# unit${blanks(n)}-\n${row}${row}`)))],
  ['a comment of PLY with a unit and blanks', (n) => text(ply(`comment unit${blanks(n)}-\n`, row))],
  [
    'the name of a solid',
    (n) =>
      text(
        `solid unit${blanks(n)}-\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n`,
      ),
  ],
  ['a heading of blanks', (n) => text(`a${blanks(n)}b;x;y\n`)],
  ['a heading of brackets', (n) => text(`${'['.repeat(n)};x;y\n`)],
  ['a heading of many columns', (n) => text(`${'x,'.repeat(n / 2)}\n`)],
  ['properties of PLY', (n) => text(ply(Array.from({ length: n / 16 }, (_, i) => `property int8 p${i}\n`).join('')))],
  ['elements of PLY', (n) => text(ply(Array.from({ length: n / 16 }, (_, i) => `element e${i} 0\n`).join(''), row))],
  [
    'lists of PLY in every vertex',
    (n) =>
      text(
        ply(
          Array.from({ length: n / 40 }, (_, i) => `property list uchar int8 p${i}\n`).join(''),
          `1 2 3${' 0'.repeat(n / 40)}\n`,
        ),
      ),
  ],
  ['a name in a tag', (n) => model(`<model ${'a'.repeat(n)}>`)],
  ['names in a tag', (n) => model(`<model ${'a '.repeat(n / 2)}>`)],
  ['quotes that do not match', (n) => model(`<model>${`<a b"='>`.repeat(n / 8)}`)],
  ['references that do not end', (n) => model(`<model unit="${'&#x'.repeat(n / 3)}">`)],
  ['elements within elements', (n) => model(`<model>${'<a>'.repeat(n / 3)}`)],
  [
    'objects',
    (n) => model(`<model>${Array.from({ length: n / 16 }, (_, i) => `<object id="${i}"/>`).join('')}</model>`),
  ],
  ['a comment that does not end', (n) => model(`<model><!--${'-'.repeat(n)}`)],
  ['corners of one face', (n) => text(`v 0 0 0\nv 1 0 0\nv 0 1 0\nf${' 1 2 3'.repeat(n / 6)}\n`)],
  ['a statement continued over lines', (n) => text(`v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2${'\\\n'.repeat(n / 2)} 3\n`)],
  ['old line ends', (n) => text('1 2 3\r'.repeat(n / 6))],
  ['digits of a number', (n) => text(`1 2 ${'1'.repeat(n)}\n${row}`)],
];

describe('steps a reader takes for a file made to be slow', () => {
  // Larger than the window the readers look through.
  const N = 300_000;

  it.each(hostile)('%s: twice the file, twice the steps', async (_, make) => {
    const steps = async (n: number) => {
      const bytes = make(n);
      return countedSteps(() =>
        readScan(bytes, { name: 'scan' }).catch((error: unknown) => {
          if (!(error instanceof FettleError)) throw error;
        }),
      );
    };
    const [once, twice] = [await steps(N), await steps(2 * N)];
    // Proportion is 2, a square 4; a beginning looked through anew each time the window doubles makes 2 to 2.5.
    expect(twice).toBeLessThan(3 * once);
  });

  it('a plan that is no JSON', async () => {
    const steps = (n: number) =>
      countedSteps(async () => expect(() => planFromText(`{"a": ${'[0, '.repeat(n)}x`, 'plan')).toThrow(FettleError));
    expect(await steps(20_000)).toBeLessThan(3 * (await steps(10_000)));
  });
});

describe('a text of one long word', () => {
  const flat = Float64Array.of(0, 0, 80, 0, 80, 40, 0, 40);
  const bare: Drawing = {
    shapes: [{ kind: 'polyline', line: 'outline', flat, closed: true }],
    dimensions: [],
    labels: [],
    balloons: [],
    datums: [],
  };

  it('is cut for the title block of a drawing: twice the text, twice the steps', async () => {
    const steps = (n: number) => countedSteps(async () => void writeSvg(bare, { title: 'x'.repeat(n) }));
    expect(await steps(4000)).toBeLessThan(3 * (await steps(2000)));
  });

  it('is broken into lines with each of its letters looked at a few times, however long it is', () => {
    const n = 20_000;
    let looked = 0;
    const letters = String.prototype[Symbol.iterator];
    const spy = vi.spyOn(String.prototype, Symbol.iterator).mockImplementation(function (this: string) {
      looked += this.length;
      return letters.call(this);
    });
    const lines = wrapText('x'.repeat(n), 80);
    spy.mockRestore();
    expect(lines).toEqual(Array.from({ length: n / 80 }, () => 'x'.repeat(80)));
    expect(looked).toBeGreaterThanOrEqual(n);
    expect(looked).toBeLessThan(4 * n);
  });
});

describe('a scan of many points at few places', () => {
  it('has a spacing: twice the points, twice the steps', async () => {
    const places = [
      [0, 0, 0],
      [10, 0, 0],
      [0, 5, 1],
    ];
    const steps = (n: number) => {
      const positions = Float64Array.from(Array.from({ length: n }, (_, i) => places[i % 3]!).flat());
      // Nearest to the first is the third, √26 away, as to the third the first; the second is 10 from the first.
      return countedSteps(async () => expect(pointSpacing({ positions, units: 'mm', name: 'few' })).toBe(26 ** 0.5));
    };
    expect(await steps(6000)).toBeLessThan(3 * (await steps(3000)));
  });
});
