import { FettleError } from '../error.js';
import { marked } from '../math/marks.js';
import type { Mesh } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { countText } from '../text/number-text.js';

/** A mesh by what of it is to stay as it is. */
export interface Split {
  /** Triangles that stay: those with a protected corner. */
  readonly kept: Uint32Array;
  /** Corners of the others. */
  readonly free: Uint32Array;
  /** 1 for points that have to stay: protected, or corners of triangles that stay. */
  readonly isFixed: Uint8Array;
}

export function splitProtected({ positions, triangles }: Mesh, protect: Uint32Array): Split {
  const isFixed = new Uint8Array(positions.length / 3);
  if (protect.length === 0) return { kept: new Uint32Array(), free: triangles, isFixed };
  const isProtected = new Uint8Array(isFixed.length);
  for (let i = 0; i < protect.length; i++) isProtected[protect[i]] = 1;
  isFixed.set(isProtected);
  const stays = new Uint8Array(triangles.length / 3);
  for (let t = 0; t < stays.length; t++) {
    const [a, b, c] = [triangles[3 * t], triangles[3 * t + 1], triangles[3 * t + 2]];
    if ((isProtected[a] | isProtected[b] | isProtected[c]) === 0) continue;
    stays[t] = 1;
    isFixed[a] = 1;
    isFixed[b] = 1;
    isFixed[c] = 1;
  }
  const others = marked(stays, 0);
  const free = new Uint32Array(3 * others.length);
  for (let i = 0; i < others.length; i++) for (let k = 0; k < 3; k++) free[3 * i + k] = triangles[3 * others[i] + k];
  return { kept: marked(stays), free, isFixed };
}

/** How many triangles stay with points that are protected. */
export function protectedTriangles({ positions, triangles }: Mesh, protect: Uint32Array): number {
  const isProtected = new Uint8Array(positions.length / 3);
  for (let i = 0; i < protect.length; i++) isProtected[protect[i]] = 1;
  let count = 0;
  for (let t = 0; t < triangles.length; t += 3)
    count += isProtected[triangles[t]] | isProtected[triangles[t + 1]] | isProtected[triangles[t + 2]];
  return count;
}

/** @throws FettleError `simplify-protected` where more triangles stay than are asked for */
export function refuseAbove(asked: number, kept: number, mesh: Mesh): void {
  if (kept <= asked) return;
  throw new FettleError(
    'simplify-protected',
    `${scanName(mesh)}: ${countText(kept)} of ${countText(mesh.triangles.length / 3)} triangles are protected; it cannot come ` +
      `down to ${countText(asked)}. Ask for more triangles, or protect less.`,
  );
}
