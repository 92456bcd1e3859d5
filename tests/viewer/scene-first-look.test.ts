import { vec3 } from '@fettle/geom';
import { SphereGeometry } from 'three';
import { expect, test } from 'vitest';
import { firstLook } from '../../packages/viewer/src/scene/first-look.js';
import type { DrawnSurface } from '../../packages/viewer/src/worker/protocol.js';

const withNormals = (normals: ArrayLike<number>): DrawnSurface => ({
  origin: [0, 0, 0],
  positions: new Float32Array(normals.length),
  normals: Int8Array.from(normals, (v) => Math.round(127 * v)),
});
const corner = vec3.normalize([1, -1.4, 1]);

test('an open skin is seen from the side it faces, a little from aside', () => {
  const normal = vec3.normalize([0.3, -0.5, 0.8]);
  const seen = firstLook(withNormals(Array.from({ length: 500 }, () => normal).flat()));
  const aside = (Math.acos(vec3.dot(seen, normal)) * 180) / Math.PI;
  expect(vec3.length(seen)).toBeCloseTo(1, 9);
  expect(aside).toBeGreaterThan(10);
  expect(aside).toBeLessThan(30);
});

test('a closed skin, which faces all ways, is seen from a corner, as is a cloud without normals', () => {
  const ball = new SphereGeometry(1, 64, 32).getAttribute('normal').array;
  expect(firstLook(withNormals(ball))).toEqual(corner);
  expect(firstLook(withNormals(new Float32Array(3000)))).toEqual(corner);
  expect(firstLook(withNormals([]))).toEqual(corner);
});
