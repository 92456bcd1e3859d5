import { type Vec3, vec3 } from '@fettle/geom';
import type { StepItem, WirePiece } from '@fettle/io';
import { expect } from 'vitest';
import type { Seen, SeenEdge, SeenFace, SeenItem } from './step-kernel.js';

const { addScaled, cross, distance, dot, length, normalize, subtract } = vec3;

/** mm; what a kernel may see otherwise than it was given. */
const CLOSE = 1e-6;

/** Expects a kernel to see an item as it is: its kind, place, size and extent, and what comes with it to snap to. */
export function expectSeen({ items }: Seen, item: StepItem): void {
  const { name } = item;
  const get = (what: string): SeenItem => {
    const found = items.get(what);
    if (!found) throw new Error(`"${what}" is not in the file; there are ${[...items.keys()].join(', ')}`);
    return found;
  };
  const one = <T>(list: readonly T[]): T => {
    expect(list, name).toHaveLength(1);
    return list[0]!;
  };
  const face = (): SeenFace => {
    const seen = one(get(name).faces);
    expect(seen.name).toBe(name);
    expect(seen.kind).toBe(item.kind);
    return seen;
  };
  const axisEnds = (from: Vec3, to: Vec3) => line(one(get(`${name} axis`).edges), from, to);
  const center = (at: Vec3) => same(one(get(`${name} center`).points), at);

  switch (item.kind) {
    case 'plane': {
      const seen = face();
      same(seen.direction, item.normal);
      near(dot(subtract(seen.location, item.point), item.normal), 0);
      near(seen.area, item.size[0] * item.size[1], CLOSE * (item.size[0] + item.size[1]));
      const x = normalize(addScaled(item.along, item.normal, -dot(item.along, item.normal)));
      const y = cross(item.normal, x);
      for (const u of [-0.5, 0.5])
        for (const v of [-0.5, 0.5])
          has(seen.corners, addScaled(addScaled(item.point, x, u * item.size[0]), y, v * item.size[1]));
      return;
    }
    case 'cylinder': {
      const seen = face();
      const ends = item.span.map((s) => addScaled(item.point, item.direction, s)) as [Vec3, Vec3];
      same(seen.direction, item.direction);
      near(offLine(seen.location, item.point, item.direction), 0);
      near(seen.radius, item.radius);
      const sweep = item.turn?.sweep ?? 2 * Math.PI;
      const tall = item.span[1] - item.span[0];
      near(seen.area, sweep * item.radius * tall, CLOSE * (sweep * item.radius + tall));
      if (item.turn) {
        const start = square(item.turn.start, item.direction);
        for (const end of ends) {
          has(seen.corners, addScaled(end, start, item.radius));
          has(seen.corners, addScaled(end, around(start, item.direction, sweep), item.radius));
        }
      }
      axisEnds(...ends);
      return;
    }
    case 'cone': {
      const seen = face();
      const ends = item.span.map((s) => addScaled(item.apex, item.direction, s)) as [Vec3, Vec3];
      same(seen.direction, item.direction);
      same(seen.location, item.apex);
      near(Math.abs(seen.halfAngle), item.halfAngle, 1e-9);
      const sweep = item.turn?.sweep ?? 2 * Math.PI;
      const [low, high] = item.span.map((s) => s / Math.cos(item.halfAngle)) as [number, number];
      const area = (sweep / 2) * Math.sin(item.halfAngle) * (high * high - low * low);
      near(seen.area, area, CLOSE * 4 * high);
      axisEnds(...ends);
      return;
    }
    case 'sphere': {
      const faces = get(name).faces;
      const cap = item.cap?.halfAngle ?? Math.PI;
      expect(faces).toHaveLength(item.cap ? 1 : 2);
      for (const seen of faces) {
        expect(seen.name).toBe(name);
        expect(seen.kind).toBe('sphere');
        same(seen.location, item.center);
        near(seen.radius, item.radius);
      }
      const area = faces.reduce((sum, seen) => sum + seen.area, 0);
      near(area, 2 * Math.PI * item.radius ** 2 * (1 - Math.cos(cap)), CLOSE * 25 * item.radius);
      if (item.cap) has(faces[0]!.corners, addScaled(item.center, normalize(item.cap.toward), item.radius));
      center(item.center);
      return;
    }
    case 'line':
      line(one(get(name).edges), ...(item.span.map((s) => addScaled(item.point, item.direction, s)) as [Vec3, Vec3]));
      return;
    case 'circle': {
      const seen = one(get(name).edges);
      expect(seen.kind).toBe('circle');
      same(seen.center!, item.center);
      same(seen.direction!, item.normal);
      near(seen.radius!, item.radius);
      same(seen.start, seen.end);
      center(item.center);
      return;
    }
    case 'ellipse': {
      const seen = one(get(name).edges);
      expect(seen.kind).toBe('ellipse');
      same(seen.center!, item.center);
      same(seen.direction!, item.normal);
      near(seen.radius!, item.major);
      near(seen.minor!, item.minor);
      same(seen.start, addScaled(item.center, item.direction, item.major));
      center(item.center);
      return;
    }
    case 'slot': {
      const edges = get(name).edges;
      expect(edges.map((edge) => edge.kind).sort()).toEqual(['circle', 'circle', 'line', 'line']);
      const half = (item.length - item.width) / 2;
      const across = cross(item.normal, item.direction);
      for (const end of [1, -1]) {
        const arc = edges.find(
          (e) => e.kind === 'circle' && distance(e.center!, addScaled(item.center, item.direction, end * half)) < CLOSE,
        );
        near(arc!.radius!, item.width / 2);
        same(arc!.middle, addScaled(item.center, item.direction, (end * item.length) / 2));
        const side = addScaled(item.center, across, (end * item.width) / 2);
        has(
          edges.map((edge) => edge.middle),
          side,
        );
      }
      center(item.center);
      return;
    }
    case 'point':
      same(one(get(name).points), item.position);
      return;
    case 'frame': {
      same(one(get(`${name} origin`).points), item.origin);
      const axes = { x: item.x, y: item.y, z: cross(item.x, item.y) };
      for (const [axis, way] of Object.entries(axes))
        line(one(get(`${name} ${axis}`).edges), item.origin, addScaled(item.origin, way, item.size ?? 10));
      return;
    }
    case 'wire': {
      const pieces = item.chains.flat();
      const edges = get(name).edges;
      expect(edges, name).toHaveLength(pieces.length);
      pieces.forEach((piece, i) => {
        onPiece(edges[i]!, piece);
      });
      return;
    }
  }
}

function onPiece(edge: SeenEdge, piece: WirePiece): void {
  if (piece.kind === 'line') {
    line(edge, piece.start, piece.end);
    return;
  }
  expect(edge.kind).toBe('circle');
  same(edge.start, piece.start);
  same(edge.end, piece.end);
  same(edge.center!, piece.center);
  near(edge.radius!, distance(piece.start, piece.center));
  const start = subtract(piece.start, piece.center);
  const middle = around(normalize(start), piece.normal, piece.sweep / 2);
  same(edge.middle, addScaled(piece.center, middle, length(start)));
}

function line(edge: SeenEdge, start: Vec3, end: Vec3): void {
  expect(edge.kind).toBe('line');
  same(edge.start, start);
  same(edge.end, end);
}

const near = (found: number, wanted: number, off = CLOSE): void => {
  expect(Math.abs(found - wanted), `${found} for ${wanted}`).toBeLessThan(off);
};
const same = (found: Vec3, wanted: Vec3): void => {
  expect(distance(found, wanted), `${found} for ${wanted}`).toBeLessThan(CLOSE);
};
const has = (found: readonly Vec3[], wanted: Vec3): void => {
  expect(Math.min(...found.map((p) => distance(p, wanted))), `${wanted} among ${found.join('; ')}`).toBeLessThan(CLOSE);
};

const square = (d: Vec3, axis: Vec3): Vec3 => normalize(addScaled(d, axis, -dot(d, axis)));
const around = (x: Vec3, axis: Vec3, angle: number): Vec3 =>
  addScaled(addScaled([0, 0, 0], x, Math.cos(angle)), cross(axis, x), Math.sin(angle));
const offLine = (p: Vec3, on: Vec3, direction: Vec3): number => length(cross(subtract(p, on), direction));
