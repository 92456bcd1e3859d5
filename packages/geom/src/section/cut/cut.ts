import { FettleError } from '../../error.js';
import type { Plane } from '../../feature/feature.js';
import type { Mesh, Scan } from '../../scan/scan.js';
import { type AxesOptions, flatten, type SectionAxes, sectionAxes } from '../axes.js';
import { cutCloud } from '../cloud/slab.js';
import { crossingsOf } from '../mesh/crossings.js';
import { type Chain, joinSegments } from '../mesh/join.js';
import { howItMisses } from '../mesh/miss.js';
import type { Polyline, Section } from '../section.js';

export interface CutOptions extends AxesOptions {
  /** Of a cloud: its points no farther than this from the plane belong to the section, mm. Default: the point spacing. */
  readonly halfThickness?: number;
}

/**
 * Cuts a scan with a plane.
 *
 * A mesh gives polylines joined through its own connectivity, by the numbers of its points and never by their distance: closed
 * where the mesh closes, open where it has a hole or a crack. Nothing is bridged, dropped or given twice. Outlines of solids
 * run counterclockwise, those of holes in them clockwise, seen against the plane's normal, if the triangles face outward.
 *
 * What lies in the plane counts as it would just below it, or, where no triangle hangs under it, as just above it: so a face in
 * the plane gives its outline once. A border of an open mesh that lies in the plane belongs to the section. What only touches the
 * plane in a point does not.
 *
 * A cloud gives the points in a slab about the plane, their projections on it, and the curves along which these lie as polylines,
 * smoothed over about three times the point spacing: for a fit take the points.
 *
 * @throws FettleError `section-misses` if nothing is cut, saying by how much; `section-plane`, `section-axis` for a plane or axis
 * that cannot be; `section-thickness` for a half-thickness that is not above 0.
 */
export function cutMesh(scan: Scan, plane: Pick<Plane, 'point' | 'normal'>, options: CutOptions = {}): Section {
  const axes = sectionAxes(plane, options);
  if (!scan.triangles) return cutCloud(scan, axes, options.halfThickness);
  const mesh: Mesh = { ...scan, triangles: scan.triangles };
  const crossings = crossingsOf(mesh, axes.plane);
  const polylines: Polyline[] = [];
  for (const chain of joinSegments(crossings)) {
    const polyline = asPolyline(chain, crossings.nodes, axes);
    if (polyline) polylines.push(polyline);
  }
  if (polylines.length === 0) throw new FettleError('section-misses', howItMisses(mesh, axes.plane, mesh.triangles));
  return { ...axes, polylines };
}

/** Without places that repeat; undefined if all is one place. */
function asPolyline({ nodes, closed }: Chain, places: Float64Array, axes: SectionAxes): Polyline | undefined {
  const points = new Float64Array(3 * nodes.length);
  let length = 0;
  const isAt = (i: number, n: number): boolean =>
    points[i] === places[3 * n] && points[i + 1] === places[3 * n + 1] && points[i + 2] === places[3 * n + 2];
  for (const n of nodes) {
    if (length > 0 && isAt(length - 3, n)) continue;
    for (let k = 0; k < 3; k++) points[length++] = places[3 * n + k];
  }
  while (closed && length > 3 && isAt(length - 3, nodes[0])) length -= 3;
  if (length < 6) return undefined;
  const kept = points.slice(0, length);
  // There and back is one segment.
  return { closed: closed && length > 6, points: kept, flat: flatten(axes, kept) };
}
