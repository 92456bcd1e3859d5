import { freemem } from 'node:os';
import { FettleError, type Scan } from '@fettle/geom';
import { megabytes } from '../text/number-text.js';

/** Bytes a scan takes at least for each byte of its file: text with much that is passed over is the leanest. */
const LEAST_READ = 0.1;
/** Bytes the spatial index takes for each point (its place in single precision) and triangle (corners, and its share of the tree). */
const INDEX = { point: 12, triangle: 18 };

/**
 * Makes sure that there is memory to read a file, before any is taken: a process that runs out of it ends without a word.
 *
 * @param bytes of the file
 * @throws FettleError `not-enough-memory`
 */
export const checkReading = (name: string, bytes: number, available = availableMemory()): void =>
  check(name, 'reading it', LEAST_READ * bytes, available);

/** As {@link checkReading}, for measuring a scan that has been read. */
export const checkMeasuring = (scan: Scan, available = availableMemory()): void =>
  check(scan.name, 'measuring it', neededToMeasure(scan), available);

const neededToMeasure = ({ positions, triangles }: Scan): number =>
  (INDEX.point * positions.length + INDEX.triangle * (triangles?.length ?? 0)) / 3;

function check(name: string, what: string, needed: number, available: number): void {
  if (needed <= available) return;
  throw notEnough(name, `${what} takes ${megabytes(needed)} MB at least, and ${megabytes(available)} MB are free`);
}

const notEnough = (name: string, why: string, cause?: unknown): FettleError =>
  new FettleError(
    'not-enough-memory',
    `${name}: not enough memory: ${why}. End other programs, measure fewer scans at a time (--workers 1), or thin the scan.`,
    cause === undefined ? undefined : { cause },
  );

/** What the engine says where memory it was asked for is not to be had. */
const REFUSED = /allocation failed|could not allocate|out of memory|Invalid (typed array|array buffer|string) length/i;

/** An error for want of memory, in words; anything else as it is. */
export function memoryError(name: string, error: unknown): unknown {
  if ((error as NodeJS.ErrnoException | undefined)?.code === 'ERR_WORKER_OUT_OF_MEMORY')
    return notEnough(name, `measuring took more than Node gives a thread (--max-old-space-size raises it)`, error);
  return error instanceof RangeError && REFUSED.test(error.message) ? notEnough(name, error.message, error) : error;
}

/** Bytes to be had, those a container may take counted alone. Older versions of Node know only what the machine has free. */
const availableMemory = (): number => (process as { availableMemory?: () => number }).availableMemory?.() ?? freemem();
