import { lengthText } from '../text/number-text.js';
import { type NoiseModel, type ScanNoise, varianceOf } from './scan-noise.js';

/**
 * The noise of a scan in a sentence: `0.036 mm, of which 0.020 mm each point has to itself and 0.030 mm neighbors share over 2 to 4 mm;
 * measured on 6 smooth surfaces of this scan, 3,100 mm² in all.`
 */
export function noiseInWords({ from, model, surfaces }: ScanNoise): string {
  if (!model)
    return 'not known: the scan has no smooth surface large enough to measure it on, and the plan states none.';
  const area = surfaces.reduce((sum, surface) => sum + surface.area, 0);
  const where =
    from === 'stated'
      ? 'as the plan states it'
      : `measured on ${surfaces.length === 1 ? 'one smooth surface' : `${surfaces.length} smooth surfaces`} of this scan, ` +
        `${Number(area.toPrecision(2)).toLocaleString('en-US')} mm² in all`;
  return `${partsInWords(model)}; ${where}.`;
}

function partsInWords(model: NoiseModel): string {
  const whole = varianceOf(model);
  const shared = whole - model.white;
  const text = (variance: number): string => lengthText(Number(Math.sqrt(variance).toPrecision(2)));
  if (!(shared > 1e-4 * whole)) return `${text(whole)}, each point by itself`;
  const [from, to] = [0.1, 0.9].map((share) => Number(lengthAt(model, share * shared).toPrecision(2)));
  const lengths = from === to ? lengthText(from) : `${from} to ${lengthText(to)}`;
  if (!(model.white > 1e-4 * whole)) return `${text(whole)}, shared by neighbors over ${lengths}`;
  return `${text(whole)}, of which ${text(model.white)} each point has to itself and ${text(shared)} neighbors share over ${lengths}`;
}

/** The length up to which the shared parts make up `variance`. */
function lengthAt({ terms }: NoiseModel, variance: number): number {
  const sorted = [...terms].sort((a, b) => a.length - b.length);
  let sum = 0;
  for (const term of sorted) {
    sum += term.variance;
    if (sum >= variance) return term.length;
  }
  return sorted[sorted.length - 1].length;
}
