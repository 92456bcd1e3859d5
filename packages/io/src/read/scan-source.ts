import type { Scan, Warning } from '@fettle/geom';
import type { LengthUnit } from './units.js';

/** File formats read, told by content. */
export type ScanFormat = 'ply' | 'obj' | 'stl' | 'xyz' | 'off' | 'pcd' | '3mf' | 'glb';

/** What people call them. */
export const formatNames: Readonly<Record<ScanFormat, string>> = {
  ply: 'PLY',
  obj: 'OBJ',
  stl: 'STL',
  off: 'OFF',
  pcd: 'PCD',
  '3mf': '3MF',
  glb: 'glTF binary',
  xyz: 'list of points',
};

const readNames = Object.values(formatNames)
  .join(', ')
  .replace(/, (?=[^,]*$)/, ' or a ');

/** What to do with a file that is no scan this program reads: all formats it does. */
export const exportAs = `Export it as ${readNames}.`;

/** Where a scan came from and what its file said or left open. */
export interface ScanSource {
  readonly format: ScanFormat;
  readonly encoding: 'text' | 'binary' | 'binary big-endian';
  /** Where the file was compressed. */
  readonly compression?: 'gzip';
  /** Bytes read, compressed ones where they were. */
  readonly bytes: number;
  /** Unit the coordinates of the file were taken to be in; the scan itself is in mm. */
  readonly unit: LengthUnit;
  /** Who said so: the file itself, the caller, or nobody: then mm is assumed, and a warning says so. */
  readonly unitFrom: 'file' | 'caller' | 'assumed';
  /** What a person should know: points dropped, statements skipped, units assumed, an extent hard to believe. */
  readonly warnings: readonly Warning[];
}

/** A scan with what is known of the file it came from. */
export interface ReadScan extends Scan {
  readonly source: ScanSource;
}
