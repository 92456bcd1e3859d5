import type { LaidScan } from '@fettle/geom';

/** How a scan was laid on the plan's reference, a line for the head of a sheet. */
export function laidInWords({ share, rms, off, inPlace }: LaidScan): string {
  const how = inPlace ? 'lay on it already' : 'laid on it';
  return (
    `Reference: ${how}; ${Math.round(100 * share)} % of the scan in common, rms ${figure(rms)} mm there. Regions may be off by ` +
    `${figure(off)} mm (95 %); values in the datum frame are not, for its surfaces are fitted in this scan.`
  );
}

const figure = (mm: number): string => String(Number(mm.toPrecision(2)));
