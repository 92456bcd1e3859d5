import { pointIndex } from './point-index.js';
import type { Scan } from './scan.js';

/** How many edges or points the spacing is taken from: the median of that many is within 1 % on real scans. */
const sampleSize = 20_000;

const known = new WeakMap<Scan, number>();

/**
 * How far apart the points lie, mm: of a mesh the median edge length, of a cloud the median distance from a point to the
 * nearest that is not the same place. Taken from evenly strided samples of the scan (a scan of at most that many points or
 * triangles is taken whole). 0 where all points are one place.
 */
export function pointSpacing(scan: Scan): number {
  const before = known.get(scan);
  if (before !== undefined) return before;
  const spacing = scan.triangles ? medianEdge(scan.positions, scan.triangles) : medianGap(scan);
  known.set(scan, spacing);
  return spacing;
}

function medianEdge(positions: Float64Array, triangles: Uint32Array): number {
  const count = triangles.length / 3;
  const step = Math.max(1, count / sampleSize);
  const lengths: number[] = [];
  for (let i = 0; i < count; i += step) {
    const t = 3 * Math.floor(i);
    for (let k = 0; k < 3; k++) {
      const a = 3 * triangles[t + k];
      const b = 3 * triangles[t + ((k + 1) % 3)];
      const length = Math.hypot(
        positions[a] - positions[b],
        positions[a + 1] - positions[b + 1],
        positions[a + 2] - positions[b + 2],
      );
      if (length > 0) lengths.push(length);
    }
  }
  return middle(lengths);
}

function medianGap(scan: Scan): number {
  const { positions, select } = scan;
  const index = pointIndex(scan);
  const count = select ? select.length : positions.length / 3;
  const step = Math.max(1, count / sampleSize);
  const gaps: number[] = [];
  /** All points of a place are looked through to find one of another: once a place, however many share it. */
  const ofPlace = new Map<string, number>();
  for (let i = 0; i < count; i += step) {
    const p = select ? select[Math.floor(i)] : Math.floor(i);
    const place = `${positions[3 * p]} ${positions[3 * p + 1]} ${positions[3 * p + 2]}`;
    const gap = ofPlace.get(place) ?? index.nearestOther(p);
    ofPlace.set(place, gap);
    if (gap < Infinity) gaps.push(gap);
  }
  return middle(gaps);
}

const middle = (values: readonly number[]): number => Float64Array.from(values).sort()[values.length >> 1] ?? 0;
