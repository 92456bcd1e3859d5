import type { SpatialIndex } from './place-questions.js';
import { pointIndex } from './point-index.js';
import type { Scan } from './scan.js';
import { triangleIndex } from './triangle-index.js';

/**
 * The index of a scan: over its triangles, or over its points if it has none. Built when first asked for (4.5 M triangles
 * in 2 to 3 s), then kept as long as the scan. `packIndex` builds it in another thread.
 */
export const spatialIndex = (scan: Scan): SpatialIndex => (scan.triangles ? triangleIndex(scan) : pointIndex(scan));
