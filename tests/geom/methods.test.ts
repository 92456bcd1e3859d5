import { existsSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const root = new URL('../../', import.meta.url);
const methods = readFileSync(new URL('packages/geom/METHODS.md', root), 'utf8');
const named = (pattern: RegExp): string[] => [...new Set([...methods.matchAll(pattern)].map(([, path]) => path!))];
const sources = named(/`(src\/[^`]+)`/g);

test('every file METHODS.md names is there', () => {
  expect(sources.length).toBeGreaterThan(100);
  const missing = [
    ...sources.filter((path) => !existsSync(new URL(`packages/geom/${path}`, root))),
    ...named(/`(tests\/[^`]+\.ts)`/g).filter((path) => !existsSync(new URL(path, root))),
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
