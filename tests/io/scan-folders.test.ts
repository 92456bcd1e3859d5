import { isAbsolute, join, relative, sep } from 'node:path';
import { seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';
import { deliveredName } from '../../packages/io/src/deliver/output-name.js';
import { scanFolders } from '../../packages/io/src/node/scan-folders.js';

test.each([
  ['...ply', 'scan'],
  ['..ply', 'scan'],
  ['....ply', 'scan'],
  ['.ply', 'ply'],
  ['. .ply', 'scan'],
  ['.hidden.ply', 'hidden'],
  ['pump.ply', 'pump'],
  ['pump.ply.gz', 'pump.ply'],
  ['Pumpengehäuse (2) – links.ply', 'Pumpengehäuse (2) - links'],
  ['a\\..\\b.ply', 'a-..-b'],
  ['a:b*c?.ply', 'a-b-c-'],
  ['red\u001b[31m.ply', 'red-31m'],
  ['left\u202egnp.ply', 'left-gnp'],
  // Device names and ends that Windows does not take: Naming Files, Paths, and Namespaces, Microsoft Learn.
  ['CON.ply', 'scan-CON'],
  ['lpt1.a.ply', 'scan-lpt1.a'],
  ['end. .ply', 'end'],
  // The table over all scans has this name.
  ['all-scans.csv.ply', 'all-scans.csv-2'],
  [`${'ä'.repeat(240)}.ply`, 'ä'.repeat(100)],
])('%s is put into %s', (file, folder) => {
  expect(scanFolders([file])).toEqual([folder]);
});

test.each([
  ['con', 'con_.ply'],
  ['com1', 'com1_.ply'],
  ['console', 'console.ply'],
  ['left-nul', 'left-nul.ply'],
])('a delivery %s is written to %s, which is no device to Windows', (id, name) => {
  expect(deliveredName({ step: 'deliver', id, scan: { format: 'ply' } })).toBe(name);
});

test('whatever the scans are called, each has a folder of its own, straight inside', () => {
  const random = seededRandom(7);
  const pieces = ['.', '..', '/', '\\', ' ', 'a', 'A', '-', '\0', '\n', '\u001b', ':', 'con', '.ply', 'ü', '\ud800'];
  const pick = () => pieces[Math.floor(random.next() * pieces.length)]!;
  const paths = Array.from({ length: 5000 }, () =>
    Array.from({ length: 1 + Math.floor(random.next() * 6) }, pick).join(''),
  );
  const folders = scanFolders(paths);
  for (const folder of folders) {
    const inside = relative('/out', join('/out', folder));
    expect(inside).toBe(folder);
    expect(inside).not.toMatch(/^\.|[/\\:\p{Cc}]|[. ]$/u);
    expect(isAbsolute(inside) || inside === '' || inside.includes(sep)).toBe(false);
  }
  expect(new Set(folders.map((folder) => folder.toLowerCase())).size).toBe(folders.length);
});
