import type { Scanner } from '@fettle/geom';

/** `± 0.02 mm + 0.03 mm per meter`; what no ± on the job sheet falls below. */
export const accuracyText = ({ accuracy, perMeter }: Scanner): string =>
  `± ${accuracy} mm${perMeter ? ` + ${perMeter} mm per meter` : ''}`;

/** What the plan states of the scanner, as a sheet tells it; or that it states nothing, and what the ± are then. */
export function scannerText(scanner: Scanner | undefined): string {
  if (scanner === undefined) return 'accuracy not stated; each ± tells only how the points scatter.';
  const note = scanner.note === undefined ? '' : ` ${scanner.note}`;
  return `${accuracyText(scanner)} as the plan states it; no ± is smaller than that allows.${note}`;
}
