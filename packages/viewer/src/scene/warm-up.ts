import { Group, Sphere } from 'three';
import { Curves } from './curves.js';
import type { SceneColors } from './scene-colors.js';
import { Surface } from './surface.js';

/**
 * A triangle and a line of no size, which show nothing: with them the graphics card makes its programs for the first,
 * empty picture, and not when somebody waits for the first fit on a large scan.
 */
export function warmUp({ surface, ink }: SceneColors): Group {
  const nowhere = {
    origin: [0, 0, 0],
    positions: new Float32Array(9),
    triangles: Uint32Array.of(0, 1, 2),
    normals: new Int8Array(9),
  } as const;
  const curves = new Curves();
  curves.show([{ lines: [new Float32Array(6)], color: ink, width: 1, isOver: false }], nowhere.origin);
  return new Group().add(new Surface(nowhere, undefined, new Sphere(), surface).group, curves.group);
}
