import { scanNoise } from '../../noise/measure-scan.js';
import type { ScanNoise } from '../../noise/scan-noise.js';
import type { Scan } from '../../scan/scan.js';
import type { Scanner } from './scanner.js';

/** The noise a plan states of its scanner; else what the scan's own large surfaces show. */
export function noiseOfPlan(scan: Scan, scanner: Scanner | undefined): ScanNoise {
  if (scanner?.noise === undefined) return scanNoise(scan);
  const { white, shared = [] } = scanner.noise;
  return {
    from: 'stated',
    surfaces: [],
    model: {
      white: white * white,
      terms: shared.map(({ length, deviation, kernel = 'gaussian' }) => ({
        kernel,
        length,
        variance: deviation * deviation,
      })),
    },
  };
}
