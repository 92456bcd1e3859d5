import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import {
  boxRegion,
  createScan,
  dropPieces,
  dropStrays,
  pieces,
  simplify,
  spatialIndex,
  thin,
  weld,
} from '@fettle/geom';
import { asRatio, inMs, type Row, type Task } from '../task.js';
import { wavyMesh } from '../wavy-mesh.js';

/** Wall time of one call, ms. */
async function once(work: () => unknown): Promise<number> {
  globalThis.gc?.();
  const start = performance.now();
  await work();
  return performance.now() - start;
}

/** The simplifier underneath, in the version the library has. */
async function bareSimplifier(): Promise<Simplifier> {
  const inLibrary = createRequire(new URL('../../../packages/geom/package.json', import.meta.url));
  const found = (await import(pathToFileURL(inLibrary.resolve('meshoptimizer/simplifier')).href)) as {
    MeshoptSimplifier: Simplifier & { ready: Promise<void> };
  };
  await found.MeshoptSimplifier.ready;
  return found.MeshoptSimplifier;
}

interface Simplifier {
  simplify(corners: Uint32Array, positions: Float32Array, stride: 3, target: number, error: number): unknown;
}

export const task: Task = {
  title: 'A scan of 4.5 M triangles cleaned and simplified to 0.9 M',
  async run() {
    const mesh = wavyMesh(1501);
    const rows: Row[] = [];
    const fresh = () => ({ ...mesh, triangles: mesh.triangles.slice() });
    const bounded = (what: string, ms: number, bound: number): void => {
      rows.push({ what, ours: inMs(ms), bound: `under ${inMs(bound)}`, held: ms < bound });
    };

    const simplifier = await bareSimplifier();
    const local = Float32Array.from(mesh.positions);
    const bare = await once(() => simplifier.simplify(mesh.triangles, local, 3, 2_700_000, 1));
    let last = 0;
    const signal = {
      // Asked between the passes: the last time right before the deviation is measured.
      get aborted() {
        last = performance.now();
        return false;
      },
    };
    const input = fresh();
    const start = performance.now();
    const result = await simplify(input, { triangles: 900_000, signal });
    const whole = performance.now() - start;
    const simplifying = last - start;
    rows.push({
      what: `simplified to ${(result.scan.triangles.length / 3).toLocaleString('en-US')} triangles`,
      ours: inMs(simplifying),
      peer: `meshoptimizer alone ${inMs(bare)}`,
      ratio: asRatio(bare / simplifying),
      bound: 'under 8,000 ms',
      held: simplifying < 8000,
    });
    bounded('the same, deviation measured both ways on all points, both indices built', whole, 15_000);
    const { fromOld, fromNew } = result.deviation;
    for (const [what, { count, rms, p95, max }] of [
      ['original points', fromOld],
      ['places on the new surface', fromNew],
    ] as const)
      rows.push({
        what: `measured: ${count.toLocaleString('en-US')} ${what}`,
        ours: `rms ${rms.toFixed(4)}, 95 % ${p95.toFixed(4)}, max ${max.toFixed(4)} mm`,
        bound: '',
        held: true,
      });

    const protect = boxRegion(mesh, { min: [0, 0, -100], max: [100, 100, 100] });
    bounded(
      'the same with a ninth of the points protected',
      await once(() => simplify(fresh(), { triangles: 900_000, protect })),
      15_000,
    );
    bounded('pieces', await once(() => pieces(mesh)), 1500);
    bounded('pieces dropped by share', await once(() => dropPieces(mesh, { share: 0.01 })), 2500);
    bounded('points at one place welded', await once(() => weld(mesh)), 2500);
    bounded('index over the triangles', await once(() => spatialIndex(fresh())), 3000);

    const cloud = createScan({ positions: mesh.positions.slice(0, 3_000_000) });
    bounded('cloud of 1 M points thinned to cells of 0.5 mm', await once(() => thin(cloud, { cell: 0.5 })), 2000);
    bounded('its strays dropped', await once(() => dropStrays(cloud)), 8000);
    return rows;
  },
};
