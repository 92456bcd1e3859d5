import { bounds, type Scan } from '@fettle/geom';
import { judgeSize, type ReadScan } from '@fettle/io';
import { drawnSurface, reducedSurface } from './drawn-surface.js';
import type { OpenedScan } from './protocol.js';

/** What the page is told of a scan that was read. */
export async function openedScan(scan: ReadScan, sha256: string | undefined): Promise<OpenedScan> {
  const box = bounds(scan);
  const { offers } = judgeSize(Math.max(...box.max.map((m, i) => m - box.min[i]!)), scan.source.unit);
  const surface = drawnSurface(scan);
  const reduced = await reducedSurface(surface);
  return {
    name: scan.name,
    source: scan.source,
    ...(sha256 !== undefined && { sha256 }),
    points: scan.positions.length / 3,
    triangles: trianglesOf(scan),
    bounds: box,
    // What a person said of the unit is not asked again.
    ...(offers.length > 0 && scan.source.unitFrom !== 'caller' && { otherUnits: offers }),
    warnings: scan.source.warnings,
    surface,
    ...(reduced && { reduced }),
  };
}

const trianglesOf = ({ triangles }: Scan): number => (triangles?.length ?? 0) / 3;

/** SHA-256 of a file's bytes, hex; undefined where the page cannot tell: it is served without a secure connection, or the file is too large. */
export async function sha256Of(file: Blob): Promise<string | undefined> {
  if (globalThis.crypto?.subtle === undefined) return undefined;
  try {
    const digest = await crypto.subtle.digest('SHA-256', await file.arrayBuffer());
    return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, '0')).join('');
  } catch {
    return undefined;
  }
}
