import type { SectionAxes } from '../axes.js';
import type { Polyline } from '../section.js';
import { FlatGrid } from './flat-grid.js';
import { linkPlaces } from './link-places.js';
import { ABOUT, type CurvePlace, curvePlace } from './local-curve.js';

/** The neighbor whose distance tells how dense points are along a curve: there are as many to either side. */
const NEIGHBOR = 10;
/** Where points are sparse by chance the gap is told from the others': so many times the median at most. */
const SPARSE = 2;
/** Places along a curve are so many gaps apart, at least. */
const APART = 0.75;
/** Spacings within which a point must have its neighbors. */
const FAR = 64;
/** Places of a row that is worth giving. */
const LEAST = 3;

/**
 * The curves along which the flat points of a slab lie, ordered into polylines: each point is moved onto the curve of those about it,
 * which takes most of the noise out, the places so found are thinned to about the distance between the points of the scan, and linked.
 * Points in no line belong to none: of a face along the plane, strays. Corners are rounded over about two gaps, holes of less than ten
 * gaps bridged, walls nearer to each other than three gaps taken for one, outlines of less than ten gaps across left out.
 *
 * Closed ones run counterclockwise, and clockwise where they lie in an odd number of others, as outlines of solids and holes do.
 *
 * Tried, on five rings of points by chance, 10,000 in the slab, their density 1 to 1.8: one gap for all of the slab leaves the sparser
 * rings in 70 pieces, the gap at each point by its sixth neighbor joins walls five gaps apart, by its tenth neither.
 *
 * @param spacing of the points in space, mm
 */
export function cloudCurves(axes: SectionAxes, flat: Float64Array, spacing: number): Polyline[] {
  const count = flat.length / 2;
  if (!(spacing > 0)) return [];
  const grid = new FlatGrid(flat, ABOUT * spacing);
  for (let i = 0; i < count; i++) grid.add(i);
  const gaps = Float64Array.from({ length: count }, (_, i) => gapAt(flat, grid, i, spacing));
  const most = SPARSE * gaps.slice().sort()[count >> 1];
  for (let i = 0; i < count; i++) if (gaps[i] < Infinity) gaps[i] = Math.min(gaps[i], most);
  const all = Array.from(gaps, (gap, i) => (gap < Infinity ? curvePlace(flat, grid, i, gap) : undefined));
  const kept: CurvePlace[] = [];
  const placed = new Float64Array(2 * count);
  const near = new FlatGrid(placed, spacing);
  all.forEach((place, i) => {
    if (place === undefined || isInFace(i)) return;
    let isFree = true;
    near.visit(place.x, place.y, APART * place.gap, () => {
      isFree = false;
    });
    if (!isFree) return;
    placed[2 * kept.length] = place.x;
    placed[2 * kept.length + 1] = place.y;
    near.add(kept.length);
    kept.push(place);
  });

  /** Whether many points about one are in no line: it is in a face along the plane, or on its edge. */
  function isInFace(i: number): boolean {
    let [alone, those] = [0, 0];
    grid.visit(flat[2 * i], flat[2 * i + 1], ABOUT * gaps[i], (j) => {
      those++;
      if (all[j] === undefined) alone++;
    });
    return 3 * alone > those;
  }

  const rows = linkPlaces(kept).filter((row) => row.places.length >= LEAST);
  const outlines = rows.map(({ places, closed }) => ({
    closed,
    flat: Float64Array.from(places.flatMap((p) => [kept[p].x, kept[p].y])),
  }));
  return outlines.map((outline) => {
    if (outline.closed) {
      const [x, y] = outline.flat;
      const around = outlines.filter((other) => other.closed && other !== outline && holds(other.flat, x, y)).length;
      if (area(outline.flat) > 0 !== (around % 2 === 0)) turnRound(outline.flat);
    }
    return { ...outline, points: raise(axes, outline.flat) };
  });
}

/** How far neighbors are apart along the curve at point `i`, no less than the spacing; Infinity for strays. */
function gapAt(flat: Float64Array, grid: FlatGrid, i: number, spacing: number): number {
  for (let reach = ABOUT * spacing; reach < FAR * spacing; reach *= 2) {
    const near: number[] = [];
    grid.visit(flat[2 * i], flat[2 * i + 1], reach, (_, squared) => {
      near.push(squared);
    });
    if (near.length > NEIGHBOR)
      return Math.max(spacing, (2 * Math.sqrt(near.sort((a, b) => a - b)[NEIGHBOR])) / NEIGHBOR);
  }
  return Infinity;
}

/** Twice the area enclosed, positive counterclockwise. */
function area(flat: Float64Array): number {
  let sum = 0;
  for (let i = 0, j = flat.length - 2; i < flat.length; j = i, i += 2)
    sum += flat[j] * flat[i + 1] - flat[i] * flat[j + 1];
  return sum;
}

/** Whether a place is inside, by the sides that a ray from it crosses. */
function holds(flat: Float64Array, x: number, y: number): boolean {
  let isInside = false;
  for (let i = 0, j = flat.length - 2; i < flat.length; j = i, i += 2) {
    if (flat[i + 1] > y === flat[j + 1] > y) continue;
    if (x < flat[i] + ((y - flat[i + 1]) / (flat[j + 1] - flat[i + 1])) * (flat[j] - flat[i])) isInside = !isInside;
  }
  return isInside;
}

function turnRound(flat: Float64Array): void {
  for (let i = 0, j = flat.length - 2; i < j; i += 2, j -= 2) {
    const [x, y] = [flat[i], flat[i + 1]];
    flat[i] = flat[j];
    flat[i + 1] = flat[j + 1];
    flat[j] = x;
    flat[j + 1] = y;
  }
}

/** Flat places as places in space, xyz xyz …. */
function raise({ origin, x, y }: SectionAxes, flat: Float64Array): Float64Array {
  const points = new Float64Array((3 * flat.length) / 2);
  for (let i = 0, j = 0; j < flat.length; i += 3, j += 2)
    for (let k = 0; k < 3; k++) points[i + k] = origin[k] + flat[j] * x[k] + flat[j + 1] * y[k];
  return points;
}
