import type { Warning } from '@fettle/geom';
import type { MemoryAhead } from './fresh-memory.js';
import type { ReadyLines } from './obj-stretch.js';
import type { PolygonList } from './polygons.js';
import type { RunningBounds } from './running-bounds.js';
import type { ScanFormat, ScanSource } from './scan-source.js';
import type { LengthUnit } from './units.js';

/** What every format's reader is told. */
export interface ReadContext {
  /** Opens every message. */
  readonly name: string;
  /** Size of the source in bytes where known. It is a hint: data decide. */
  readonly total?: number;
  /** What the bytes came out of. */
  readonly compression?: 'gzip';
  /** Take what is whole of a file that ends early, and say what was lost. */
  readonly keepWhole: boolean;
  /** Bytes a compressed file may unpack to, where the caller says so. */
  readonly unpackedMost?: number;
  /** Whether corners of STL at the same place become one point; default true. */
  readonly merge?: boolean;
  /** Readers add to it. */
  readonly warnings: Warning[];
  /** Readers show it the large arrays they are about to fill; whoever pushes awaits it. */
  readonly ahead?: MemoryAhead;
}

/** Takes a file piece by piece, cut anywhere, and gives what it holds. A piece is not kept: its memory may be used again. */
export interface FormatReader {
  readonly format: ScanFormat;
  readonly encoding: ScanSource['encoding'];
  push(bytes: Uint8Array): void;
  /** Takes what was read already where it would stand; only readers whose files a platform reads so have it. */
  takeReady?(lines: ReadyLines): void;
  /** No more will come. */
  end(): FileContents | Promise<FileContents>;
}

/** Points and triangles as the file has them: any unit, perhaps with coordinates that are no numbers. */
export interface FileContents {
  readonly positions: Float64Array;
  /** Every index is below the number of points. Absent for a cloud. */
  readonly triangles?: Uint32Array;
  /** Zero where unknown, any length. */
  readonly normals?: Float32Array;
  /** Whether the reader has made the normals unit. */
  readonly hasUnitNormals?: boolean;
  /** Bounds of the positions where the reader has found them on the way. */
  readonly bounds?: RunningBounds;
  readonly colors?: Uint8Array;
  /** Polygons of four corners or more, written into `triangles` as fans. */
  readonly polygons?: PolygonList;
  /** Unit the file names. */
  readonly unit?: LengthUnit;
}
