/**
 * Line types of ISO 128-2 as far as these drawings need them, with their numbers there, widths of line group 0.5 in mm on paper and
 * dash patterns in widths of the line.
 */
export type LineType = 'outline' | 'thin' | 'center' | 'hidden';

interface LineLook {
  /** mm on paper. */
  readonly width: number;
  readonly dashes?: readonly number[];
}

const LINE_TYPES: Readonly<Record<LineType, LineLook>> = {
  /** 01.2, continuous wide: visible outlines. */
  outline: { width: 0.5 },
  /** 01.1, continuous narrow: dimension, extension and leader lines, the scan itself under a profile. */
  thin: { width: 0.25 },
  /** 04.1, long-dashed dotted narrow: axes and center lines. */
  center: { width: 0.25, dashes: [24, 3, 0.5, 3] },
  /** 02.1, dashed narrow: what is hidden. */
  hidden: { width: 0.25, dashes: [12, 3] },
};

/** Attributes of a stroke of a line type. */
export function strokeAttributes(line: LineType): string {
  const { width, dashes } = LINE_TYPES[line];
  const pattern = dashes ? ` stroke-dasharray="${dashes.map((d) => Number((d * width).toFixed(3))).join(' ')}"` : '';
  return `class="line" fill="none" stroke="#16191d" stroke-width="${width}" stroke-linecap="${dashes ? 'butt' : 'round'}" stroke-linejoin="round"${pattern}`;
}
