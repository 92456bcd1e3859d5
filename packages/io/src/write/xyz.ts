import type { Scan } from '@fettle/geom';
import { digits, single } from '../text/shortest-number.js';
import { checkScan } from './check-scan.js';
import { Chunks } from './chunks.js';
import { divisorOf, type FileUnits } from './file-units.js';

export interface XyzOptions extends FileUnits {
  /** Lines for the beginning of the file, such as where the scan comes from. */
  readonly comments?: readonly string[];
}

/** Lines a piece. */
const LINES = 1 << 14;

/**
 * The points of a scan as a list, a line each, its unit in a comment: coordinates with the fewest digits that read back as the
 * same double, then normals and colors where the scan has them. A heading names the columns. Triangles are left out.
 * Errors: `bad-units`, those of checkScan.
 */
export function writeXyz(scan: Scan, options: XyzOptions = {}): Chunks {
  checkScan(scan);
  const divisor = divisorOf(scan, options);
  return new Chunks(() => pieces(scan, options, divisor));
}

function* pieces(
  { positions: p, normals, colors }: Scan,
  { comments = [], units = 'mm' }: XyzOptions,
  divisor: number,
) {
  const encoder = new TextEncoder();
  const columns = ['x', 'y', 'z', ...(normals ? ['nx', 'ny', 'nz'] : []), ...(colors ? ['red', 'green', 'blue'] : [])];
  let lines = [`# units ${units}`];
  for (const comment of comments) lines.push(...comment.split(/[\r\n]+/).map((line) => `# ${line}`));
  lines.push(`# ${columns.join(' ')}`);
  for (let i = 0; i < p.length; i += 3) {
    let line = `${digits(p[i] / divisor)} ${digits(p[i + 1] / divisor)} ${digits(p[i + 2] / divisor)}`;
    if (normals !== undefined) line += ` ${single(normals[i])} ${single(normals[i + 1])} ${single(normals[i + 2])}`;
    if (colors !== undefined) line += ` ${colors[i]} ${colors[i + 1]} ${colors[i + 2]}`;
    lines.push(line);
    if (lines.length < LINES) continue;
    yield encoder.encode(`${lines.join('\n')}\n`);
    lines = [];
  }
  if (lines.length > 0) yield encoder.encode(`${lines.join('\n')}\n`);
}
