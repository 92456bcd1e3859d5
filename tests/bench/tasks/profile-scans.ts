import { readFileSync } from 'node:fs';
import {
  type Cylinder,
  checkPlan,
  cutMesh,
  type Profile,
  profileOf,
  runPlan,
  type Scan,
  type Vec3,
} from '@fettle/geom';
import { readScan } from '@fettle/io';
import { casting, tappedCenter } from '../../../examples/pump/casting.js';
import { type Pose, pointToPump, pointToScan, turnToScan } from '../../../examples/pump/pose.js';
import { scanPump } from '../../../examples/pump/scan-pump.js';
import type { Row, Task } from '../task.js';

/** An outline of the pump as it was drawn, in a cut through it. Places and directions in the pump's axes. */
interface Drawn {
  readonly kind: 'machined circle' | 'cast circle' | 'slot';
  readonly cut: { readonly point: Vec3; readonly normal: Vec3 };
  readonly center: Vec3;
  /** Of its arcs, mm. */
  readonly radius: number;
}

const { outlet, flangeHoles, bore, boss, holes, tapped, lever, keySlot } = casting;
const up: Vec3 = [0, 0, 1];
const alongBore = (way: number): Vec3 => bore.point.map((c, k) => c + way * bore.direction[k]!) as unknown as Vec3;
const underFeet = { point: [0, 0, -1] as Vec3, normal: up };
const inFlange = { point: [outlet.flangeTo - 1.2, 0, 0] as Vec3, normal: [1, 0, 0] as Vec3 };
const half = flangeHoles.pitch / 2;

const drawn: readonly Drawn[] = [
  ...holes.map(({ center, radius }): Drawn => ({ kind: 'machined circle', cut: underFeet, center, radius })),
  ...[-half, half].flatMap((y) =>
    [-half, half].map((z): Drawn => {
      const center: Vec3 = [0, outlet.y + y, outlet.z + z];
      return { kind: 'machined circle', cut: inFlange, center, radius: flangeHoles.radius };
    }),
  ),
  ...[10, 20, 30, 40].map((deep): Drawn => {
    const center = alongBore(deep - boss.face);
    const cut = { point: center, normal: bore.direction };
    return { kind: 'machined circle', cut, center, radius: bore.radius };
  }),
  ...Array.from({ length: tapped.count }, (_, k) => k)
    .filter((k) => k !== tapped.broken)
    .map((k): Drawn => {
      const cut = { point: alongBore(1.5 - boss.face), normal: bore.direction };
      return { kind: 'machined circle', cut, center: tappedCenter(k), radius: tapped.radius };
    }),
  { kind: 'cast circle', cut: inFlange, center: [0, outlet.y, outlet.z], radius: outlet.flangeRadius },
  ...[10, 15, 20].map((z): Drawn => {
    const center: Vec3 = [lever.post[0], lever.post[1], z];
    return { kind: 'cast circle', cut: { point: center, normal: up }, center, radius: 11 };
  }),
  ...[1, 1.75, 2.5].map((deep): Drawn => {
    const cut = { point: [0, 0, -deep] as Vec3, normal: up };
    return { kind: 'slot', cut, center: keySlot.center, radius: keySlot.width / 2 };
  }),
];

/** Points, in all, that an outline must have for its pieces to be told. */
const TELLING = 40;
/** Of a slot's line or arc: points that must be seen for it to be one of the pieces. */
const SEEN = 12;

/** Where on the drawn outline a point lies: how far off, and on which of its pieces. */
function placeOn({ kind, cut, center, radius }: Drawn, p: Vec3): { readonly off: number; readonly piece: number } {
  const from = p.map((c, k) => c - center[k]!);
  const along = from.reduce((sum, c, k) => sum + c * cut.normal[k]!, 0);
  const [x, y, z] = from.map((c, k) => c - along * cut.normal[k]!);
  if (kind !== 'slot') return { off: Math.hypot(x!, y!, z!) - radius, piece: 0 };
  const straight = keySlot.length / 2 - radius;
  if (Math.abs(x!) <= straight) return { off: Math.abs(y!) - radius, piece: y! > 0 ? 0 : 1 };
  return { off: Math.hypot(Math.abs(x!) - straight, y!) - radius, piece: x! > 0 ? 2 : 3 };
}

interface Found {
  readonly drawn: Drawn;
  readonly profile: Profile;
  /** Number of the drawn outline's pieces that the scan shows. */
  readonly shown: number;
}

/** Profiles of the lines of the scan's sections that run along what was drawn. */
function foundIn(scan: Scan, pose: Pose): Found[] {
  return drawn.flatMap((one) => {
    const { point, normal } = one.cut;
    const section = cutMesh(scan, { point: pointToScan(pose, point), normal: turnToScan(pose, normal) });
    const within = one.kind === 'cast circle' ? 1 : 0.3;
    return section.polylines.flatMap(({ points }, index): Found[] => {
      const n = points.length / 3;
      const places = Array.from({ length: n }, (_, i) =>
        placeOn(one, pointToPump(pose, [points[3 * i]!, points[3 * i + 1]!, points[3 * i + 2]!])),
      );
      if (n < TELLING || places.filter(({ off }) => Math.abs(off) < within).length < 0.95 * n) return [];
      const shown = [0, 1, 2, 3].filter((k) => places.filter(({ piece }) => piece === k).length >= SEEN).length;
      return [{ drawn: one, profile: profileOf(section, index), shown }];
    });
  });
}

const radiiOf = ({ pieces }: Profile): number[] => pieces.flatMap((p) => (p.kind === 'arc' ? [p.shape.radius] : []));

function shareRow(what: string, right: number, all: number): Row {
  const share = (100 * right) / all;
  return { what, ours: `${share.toFixed(0)} % of ${all}`, bound: 'at least 90 %', held: share >= 90 };
}

function pumpRows(found: readonly Found[]): Row[] {
  const of = (kind: Drawn['kind']) => found.filter((f) => f.drawn.kind === kind);
  const isOneArc = ({ profile }: Found) => profile.pieces.length === 1 && profile.pieces[0]!.kind === 'arc';
  const arcsOnly = of('machined circle').filter(isOneArc);
  const off = Math.max(...arcsOnly.flatMap((f) => radiiOf(f.profile).map((r) => Math.abs(r - f.drawn.radius))));
  const slots = of('slot');
  const [machined, cast] = [of('machined circle'), of('cast circle')];
  return [
    shareRow('holes and bore of the pump, machined, as far as seen: one arc each', arcsOnly.length, machined.length),
    {
      what: 'their radii off what was drawn, at most',
      ours: `${off.toFixed(3)} mm`,
      bound: 'under 0.2 mm',
      held: off < 0.2,
    },
    shareRow(
      'key slot of the pump: its lines and arcs as far as seen',
      slots.filter(({ profile, shown }) => profile.pieces.length === shown).length,
      slots.length,
    ),
    shareRow('flange rim and post of the pump, rough as cast: one arc each', cast.filter(isOneArc).length, cast.length),
  ];
}

/** Cuts square to the mug's axis, this far from the middle of its wall, mm. */
const HEIGHTS = [-30, -25, -20, -15, -10, -5, 0, 5, 10, 15, 20, 25, 30];

/** A stereo camera's cloud, in noise of 1 mm, that bends what it sees: a tolerance of three times as much is given. */
async function mugRows(): Promise<Row[]> {
  const read = (path: string) => readFileSync(new URL(`../../../${path}`, import.meta.url));
  const scan = await readScan(read('tests/fixtures/table-mug.ply'), { name: 'table-mug.ply' });
  const results = runPlan(checkPlan(JSON.parse(read('examples/table-mug/plan.json').toString())), scan);
  const mug = results.outcomes.find((o) => o.id === 'mug');
  if (mug?.kind !== 'fit') throw new Error('the plan fits no mug');
  const { point, direction, radius } = mug.fit.feature as Cylinder;
  const radii: number[] = [];
  let all = 0;
  for (const height of HEIGHTS) {
    const at = point.map((c, k) => c + height * direction[k]!) as unknown as Vec3;
    const section = cutMesh(scan, { point: at, normal: direction });
    section.polylines.forEach(({ points }, index) => {
      const n = points.length / 3;
      const off = Array.from({ length: n }, (_, i) =>
        Math.abs(Math.hypot(points[3 * i]! - at[0], points[3 * i + 1]! - at[1], points[3 * i + 2]! - at[2]) - radius),
      );
      if (n < TELLING || off.some((d) => d > 4)) return;
      all++;
      const profile = profileOf(section, index, { tolerance: 3 });
      if (profile.pieces.length !== 1 || profile.pieces[0]!.kind !== 'arc') return;
      radii.push(profile.pieces[0]!.shape.radius);
    });
  }
  const median = radii.sort((a, b) => a - b)[radii.length >> 1] ?? Number.NaN;
  return [
    shareRow('wall of the mug, a real scan, in cuts 5 mm apart, tolerance 3 mm: one arc each', radii.length, all),
    {
      what: `median of their radii, beside ${radius.toFixed(1)} mm of the cylinder through all of the wall`,
      ours: `${median.toFixed(1)} mm`,
      bound: 'within 2 mm',
      held: Math.abs(median - radius) < 2,
    },
  ];
}

export const task: Task = {
  title: 'Profiles of scans: three of the pump of a million triangles each, and the mug; outlines whose shape is known',
  async run() {
    const found = [5, 6, 7].flatMap((seed) => {
      const { scan, truth } = scanPump({ seed });
      return foundIn(scan, truth.frame);
    });
    return [...pumpRows(found), ...(await mugRows())];
  },
};
