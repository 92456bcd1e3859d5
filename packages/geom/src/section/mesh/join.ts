import type { Crossings } from './crossings.js';

/** Nodes in a row, joined by segments. */
export interface Chain {
  readonly nodes: readonly number[];
  readonly closed: boolean;
}

/** A row of segments: the nodes along it, and how much more of its length runs forward than backward. */
interface Run {
  nodes: number[];
  closed: boolean;
  forward: number;
}

/**
 * Joins segments into chains, each segment once. Where two segments meet the chain goes on; where one is, it ends. Where more
 * meet (an edge of three triangles, two solids that touch along an edge) loops that come back to that node are chains of
 * their own, and of the other ends those are joined in pairs that run on in one direction and turn least; an odd one ends there.
 * So a closed outline stays closed where a fin stands on it.
 *
 * Each chain runs the way most of its length does: single triangles turned over do not change it.
 */
export function joinSegments({ nodes, segments }: Crossings): readonly Chain[] {
  const runs = joinRuns(nodes, segments);
  return linkEnds(runs, nodes).map((run) => ({
    nodes: run.forward < 0 ? run.nodes.slice().reverse() : run.nodes,
    closed: run.closed,
  }));
}

/** Runs from each node that does not join two segments to the next such node, and the loops that have none. */
function joinRuns(nodes: Float64Array, segments: Uint32Array): Run[] {
  const count = nodes.length / 3;
  const offsets = new Uint32Array(count + 1);
  for (const n of segments) offsets[n + 1]++;
  for (let n = 0; n < count; n++) offsets[n + 1] += offsets[n];
  const at = new Uint32Array(segments.length);
  const filled = offsets.slice();
  for (let i = 0; i < segments.length; i++) at[filled[segments[i]]++] = i >> 1;

  const used = new Uint8Array(segments.length / 2);
  const runs: Run[] = [];
  const follow = (start: number, first: number): void => {
    const run: Run = { nodes: [start], closed: false, forward: 0 };
    for (let n = start, s = first; ; ) {
      used[s] = 1;
      const isForward = segments[2 * s] === n;
      const next = isForward ? segments[2 * s + 1] : segments[2 * s];
      run.forward += (isForward ? 1 : -1) * between(nodes, n, next);
      if (next === start) {
        run.closed = true;
        break;
      }
      run.nodes.push(next);
      if (offsets[next + 1] - offsets[next] !== 2) break;
      s = at[offsets[next]] === s ? at[offsets[next] + 1] : at[offsets[next]];
      n = next;
    }
    runs.push(run);
  };
  for (let n = 0; n < count; n++) {
    if (offsets[n + 1] - offsets[n] === 2) continue;
    for (let i = offsets[n]; i < offsets[n + 1]; i++) if (!used[at[i]]) follow(n, at[i]);
  }
  for (let s = 0; s < used.length; s++) if (!used[s]) follow(segments[2 * s], s);
  return runs;
}

/** One end of an open run, as seen from the node it ends in. */
interface End {
  readonly run: number;
  readonly last: boolean;
  /** Away from the node, unit length. */
  readonly direction: readonly [number, number, number];
  /** Whether the run leaves the node, by the direction most of its length has. */
  readonly leaves: boolean;
}

function linkEnds(runs: readonly Run[], nodes: Float64Array): readonly Run[] {
  const endsAt = new Map<number, End[]>();
  for (const [r, run] of runs.entries()) {
    if (run.closed) continue;
    for (const last of [false, true]) {
      const node = last ? run.nodes[run.nodes.length - 1] : run.nodes[0];
      const end = { run: r, last, direction: directionFrom(nodes, run, last), leaves: last === run.forward < 0 };
      const there = endsAt.get(node);
      if (there) there.push(end);
      else endsAt.set(node, [end]);
    }
  }
  // links[2r] is the end joined to the first node of run r, links[2r + 1] that joined to its last; -1 for none.
  const links = new Int32Array(2 * runs.length).fill(-1);
  const place = (end: End): number => 2 * end.run + (end.last ? 1 : 0);
  for (const ends of endsAt.values()) {
    if (ends.length < 2) continue;
    const pairs: { a: End; b: End; cost: number }[] = [];
    for (const [i, a] of ends.entries())
      for (const b of ends.slice(i + 1)) {
        const turn =
          a.direction[0] * b.direction[0] + a.direction[1] * b.direction[1] + a.direction[2] * b.direction[2];
        pairs.push({ a, b, cost: turn + (a.leaves === b.leaves ? 3 : 0) });
      }
    pairs.sort((p, q) => p.cost - q.cost);
    for (const { a, b } of pairs) {
      if (links[place(a)] >= 0 || links[place(b)] >= 0) continue;
      links[place(a)] = place(b);
      links[place(b)] = place(a);
    }
  }
  return runsAlong(runs, links);
}

/** The runs strung together along their links. */
function runsAlong(runs: readonly Run[], links: Int32Array): readonly Run[] {
  const strung: Run[] = [];
  const used = new Uint8Array(runs.length);
  const string = (start: number): void => {
    const whole: Run = { nodes: [], closed: runs[start >> 1].closed, forward: 0 };
    for (let end = start; ; ) {
      const run = runs[end >> 1];
      used[end >> 1] = 1;
      // Entered at its first node it runs as it is, entered at its last it runs backward.
      const isForward = end % 2 === 0;
      whole.nodes = whole.nodes.concat(isForward ? run.nodes : run.nodes.slice().reverse());
      whole.forward += isForward ? run.forward : -run.forward;
      const next = links[end ^ 1];
      if (next < 0) break;
      whole.nodes.pop();
      if (next === start) {
        whole.closed = true;
        break;
      }
      end = next;
    }
    strung.push(whole);
  };
  for (let end = 0; end < links.length; end++) if (!used[end >> 1] && links[end] < 0) string(end);
  for (let r = 0; r < runs.length; r++) if (!used[r]) string(2 * r);
  return strung;
}

function directionFrom(nodes: Float64Array, run: Run, last: boolean): [number, number, number] {
  const here = 3 * (last ? run.nodes[run.nodes.length - 1] : run.nodes[0]);
  // The first node that is not the same place.
  for (let i = 1; i < run.nodes.length; i++) {
    const there = 3 * (last ? run.nodes[run.nodes.length - 1 - i] : run.nodes[i]);
    const x = nodes[there] - nodes[here];
    const y = nodes[there + 1] - nodes[here + 1];
    const z = nodes[there + 2] - nodes[here + 2];
    const length = Math.hypot(x, y, z);
    if (length > 0) return [x / length, y / length, z / length];
  }
  return [0, 0, 0];
}

const between = (nodes: Float64Array, a: number, b: number): number =>
  Math.hypot(nodes[3 * a] - nodes[3 * b], nodes[3 * a + 1] - nodes[3 * b + 1], nodes[3 * a + 2] - nodes[3 * b + 2]);
