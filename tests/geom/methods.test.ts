import { existsSync, readFileSync } from 'node:fs';
import {
  derive,
  distanceOf,
  expandedNumber,
  fitCylinder,
  fitPlane,
  growRegion,
  type Mesh,
  rootOf,
  type ScannerAccuracy,
  scanNoise,
  sphereRegion,
  uncertaintyOf,
  vertexNormals,
} from '@fettle/geom';
import { expect, test } from 'vitest';
import { scanBracket } from '../../examples/bracket/scan-bracket.js';

const root = new URL('../../', import.meta.url);
const methods = readFileSync(new URL('packages/geom/METHODS.md', root), 'utf8');
const named = (pattern: RegExp): string[] => [...new Set([...methods.matchAll(pattern)].map(([, path]) => path!))];
const sources = named(/`(src\/[^`]+)`/g);

test('every file METHODS.md names is there', () => {
  expect(sources.length).toBeGreaterThan(100);
  const missing = [
    ...sources.filter((path) => !existsSync(new URL(`packages/geom/${path}`, root))),
    ...named(/`((?:tests|examples)\/[^`]+\.ts)`/g).filter((path) => !existsSync(new URL(path, root))),
    ...named(/bench(?:es)?\s`([a-z-]+)`/g).filter((task) => !existsSync(new URL(`tests/bench/tasks/${task}.ts`, root))),
  ];
  expect(missing).toEqual([]);
});

test.each([
  'noise',
  'fit/shapes',
  'fit/extremes',
  'fit/residuals',
  'fit/uncertainty',
  'construct',
  'frame',
  'section',
  'relate',
  'align',
])('METHODS.md says where the methods of %s are', (room) => {
  expect(sources.some((path) => path.startsWith(`src/${room}/`))).toBe(true);
});

/** As the sites that show Markdown make an anchor of a heading. */
const anchorOf = (heading: string): string =>
  heading
    .toLowerCase()
    .replace(/[^\p{L}\p{N} -]/gu, '')
    .replaceAll(' ', '-');

test('its links lead to headings it has', () => {
  const anchors = [...methods.matchAll(/^#+ (.*)$/gm)].map(([, heading]) => anchorOf(heading!));
  const links = named(/\]\(#([^)]*)\)/g);
  expect(links.length).toBeGreaterThan(15);
  expect(links.filter((link) => !anchors.includes(link))).toEqual([]);
});

test('its number from scan to ± is what the library gives', () => {
  const bracket = scanBracket();
  const scan = { ...bracket, normals: vertexNormals(bracket as Mesh) };
  const noise = scanNoise(scan);
  const degree = Math.PI / 180;
  const wall = growRegion(scan, { seed: [188, 260, 100], turnStep: 3 * degree, turnTotal: 8 * degree });
  const inHole = sphereRegion(scan, { center: [188, 120, 70], radius: 9 });
  const measured = (scanner?: ScannerAccuracy) => {
    const common = { noise, ...(scanner && { scanner }) };
    const right = fitPlane({ ...scan, select: wall }, { reject: 3.5, ...common });
    const hole = fitCylinder({ ...scan, select: inHole }, { robust: true, ...common });
    const distance = derive([rootOf('right', right), rootOf('hole', hole)], (a, b) => distanceOf(a, b).value);
    return { right, hole, distance: distance.value, told: uncertaintyOf(distance) };
  };
  const { right, hole, distance, told } = measured();
  const from = (root: string): number => told.sources.find((source) => source.root === root)!.standard;
  const { white, terms } = noise.model!;
  const expected = [
    Math.sqrt(white),
    Math.sqrt(terms.reduce((sum, { variance }) => sum + variance, 0)),
    right.rms / Math.sqrt(right.count),
    Math.sqrt(right.uncertainty.covariance[0]!),
    from('right'),
    from('hole'),
    told.standard,
    expandedNumber(told).value,
    Math.abs(distance + 140),
    expandedNumber(measured({ accuracy: 0.02 }).told).value,
  ];
  const chapter = methods.slice(methods.indexOf('## One number'), methods.indexOf('## Sections'));
  const printed = [...chapter.matchAll(/^\| .* \| ([\d.]+) \|$/gm)].map(([, number]) => number!);
  expect(printed).toEqual(expected.map((mm, i) => (1000 * mm).toFixed(printed[i]!.split('.')[1]?.length ?? 0)));
  expect(chapter).toContain(`${right.count.toLocaleString('en-US')} points`);
  expect(chapter).toContain(`axis, ${hole.count} points`);
  expect(chapter).toContain(`${Math.round(told.degreesOfFreedom)} degrees of freedom`);
});
