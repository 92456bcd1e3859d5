import { readFileSync } from 'node:fs';
import {
  createScan,
  fitPlane,
  type GrownRegion,
  grownRegion,
  runPlan,
  type Scan,
  type Step,
  type Vec3,
} from '@fettle/geom';
import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { box, sphere } from './section-solids.js';

const degrees = Math.PI / 180;
/** The README's settings. */
const limits = { turnStep: 3 * degrees, turnTotal: 8 * degrees };

const open = (name: string): Promise<Scan> =>
  readScan(readFileSync(new URL(`../fixtures/${name}`, import.meta.url)), { name, units: 'mm' });

/** Points no farther than so much off a plane, evenly strided. */
function seedsOn({ positions }: Scan, normal: Vec3, offset: number, count: number, isNear = (_: Vec3) => true): Vec3[] {
  const near: Vec3[] = [];
  for (let i = 0; i < positions.length; i += 3) {
    const p: Vec3 = [positions[i], positions[i + 1], positions[i + 2]];
    if (Math.abs(normal[0] * p[0] + normal[1] * p[1] + normal[2] * p[2] - offset) < 4 && isNear(p)) near.push(p);
  }
  return Array.from({ length: count }, (_, k) => near[Math.floor(((k + 0.5) / count) * near.length)]);
}

const tiltOf = (scan: Scan, select: Uint32Array, normal: Vec3): number => {
  const n = fitPlane({ ...scan, select }, { reject: 3.5 }).feature.normal;
  return Math.acos(Math.min(1, Math.abs(n[0] * normal[0] + n[1] * normal[1] + n[2] * normal[2]))) / degrees;
};

describe('growing on scans of depth cameras, from 60 seeds all over a face', () => {
  it('the table of a stereo camera, whose noise neighbors share: each gives the table, or says that it may not', async () => {
    const scan = await open('table-mug.ply');
    // Plane of the table by NumPy on the same file: tests/fixtures/README.md.
    const normal: Vec3 = [-0.016186, 0.837701, 0.545889];
    const told = seedsOn(scan, normal, 528.743, 60).map((seed) => {
      const { select, warnings } = grownRegion(scan, { seed, ...limits });
      return { isRight: select.length > 500 && tiltOf(scan, select, normal) < 1, isWarned: warnings.length > 0 };
    });
    expect(told.filter(({ isRight, isWarned }) => !isRight && !isWarned)).toHaveLength(0);
    expect(told.filter(({ isRight }) => isRight).length).toBeGreaterThanOrEqual(55);
    expect(told.filter(({ isWarned }) => isWarned).length).toBeLessThan(10);
  }, 600_000);

  it('a floor and the front of a cabinet of a depth camera with steps of 7 to 13 mm', async () => {
    const scan = await open('room-view.ply.gz');
    // Planes of their points by NumPy, rejecting beyond 3 sigmas: tests/fixtures/README.md.
    const faces: readonly [Vec3, number, (p: Vec3) => boolean][] = [
      [[0.342495, -0.026186, 0.939155], 1876.903, ([x, y]) => x > -20 && x < 380 && y > 225 && y < 700],
      [[0.028192, 0.998472, 0.047528], 819.251, ([x, y]) => x > -1080 && x < -70 && y > 728],
    ];
    for (const [normal, offset, isNear] of faces) {
      const told = seedsOn(scan, normal, offset, 30, isNear).map((seed) => {
        const { select, warnings } = grownRegion(scan, { seed, ...limits });
        return { isRight: select.length > 500 && tiltOf(scan, select, normal) < 1.2, isWarned: warnings.length > 0 };
      });
      expect(told.filter(({ isRight, isWarned }) => !isRight && !isWarned)).toHaveLength(0);
      expect(told.filter(({ isRight }) => isRight).length).toBeGreaterThanOrEqual(18);
    }
  }, 600_000);
});

describe('what is told of a grown region', () => {
  const told = (region: GrownRegion) => [region.end, region.points, Math.round(region.area), region.warnings.length];

  it('a face of a box ends at edges, a cap of a ball at the spread, a plate at its border', () => {
    const face = grownRegion(box(30, 40, 50), { seed: [20, 10, 50], turnStep: 0.2, turnTotal: 0.5 });
    expect(told(face)).toEqual(['edge', 4, 30 * 40, 0]);
    expect(face.share).toBe(0.5);
    const cap = grownRegion(sphere(20, 240), { seed: [20, 0, 0], turnStep: 5 * degrees, turnTotal: 40 * degrees });
    expect([cap.end, cap.warnings]).toEqual(['spread', []]);
    // 2πr²(1 − cos a), to within a row of triangles of 0.5 mm.
    expect(Math.abs(cap.area - 2 * Math.PI * 400 * (1 - Math.cos(40 * degrees)))).toBeLessThan(
      2 * Math.PI * 20 * 0.65 * 0.6,
    );
    const plate = Array.from({ length: 2500 }, (_, i) => [i % 50, Math.floor(i / 50), 0]).flat();
    const cloud = grownRegion(createScan({ positions: plate }), { seed: [25, 25, 0], ...limits });
    expect([cloud.end, cloud.points, cloud.warnings]).toEqual(['border', 2500, []]);
    // 49 × 49 between the outer points; each stands for a square of 1 mm, those at the border for more than lies there.
    expect(cloud.area).toBeGreaterThan(49 * 49);
    expect(cloud.area).toBeLessThan(1.15 * 2500);
  });

  it('the job sheet shows points, share and area of a region, and fits to it warn where it is small', async () => {
    const scan = await open('room-view.ply.gz');
    const region = (id: string, from: Vec3): Step => ({
      step: 'region',
      id,
      grow: { from: [from], turn: 3, spread: 8 },
    });
    const { sheet, outcomes } = runPlan(
      {
        version: 1,
        title: 'A cabinet',
        steps: [
          // In the middle of the front, and on its rim, where all the points about it may share one of the camera's steps.
          region('front', [180, 460, 1946]),
          region('rim', [-24, 640, 2025]),
          { step: 'region', id: 'again', join: ['rim'] },
          { step: 'fit', id: 'plane', shape: 'plane', to: 'front' },
          { step: 'fit', id: 'small', shape: 'plane', to: 'again' },
        ],
      },
      scan,
    );
    const front = outcomes.find(({ id }) => id === 'front');
    if (front?.kind !== 'region') throw new Error('no region');
    expect(front.size.points).toBe(front.select.length);
    expect(front.grown).toHaveLength(1);
    const area = Number(front.size.area.toPrecision(3)).toLocaleString('en-US');
    const share = ((100 * front.select.length) / (scan.positions.length / 3)).toPrecision(2);
    expect(sheet[0].region).toContain(
      `region front: ${front.select.length.toLocaleString('en-US')} points, ${Number(share)} % of the scan, ${area} mm²; growing ended `,
    );
    const codes = (row: number) => sheet[row].warnings.map(({ code }) => code);
    expect(codes(0)).not.toContain('region-small');
    expect(codes(1)).toContain('region-small');
    const { message } = sheet[1].warnings.find(({ code }) => code === 'region-small')!;
    expect(message).toMatch(
      /^Region rim: The region holds [\d,]+ points on [\d,.]+ mm²; .* averaged over a radius of \d+ mm/,
    );
  });
});
