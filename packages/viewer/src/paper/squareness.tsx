import type { SheetValue } from '@fettle/geom';
import type { JSX } from 'preact';
import { valueWords } from './sheet-value.js';

/** How far two faces are from square, in words, given the angle between them. */
export function squareWords(value: SheetValue): string {
  const off = Math.abs(90 - value.value);
  if (value.uncertainty !== undefined && off <= value.uncertainty) return 'square, as far as the scan can tell';
  return `${valueWords({ ...value, value: off })} of draft or out of square`;
}

const pairs = [
  [0, 1],
  [0, 2],
  [1, 2],
] as const;

/** Angles between the planes of a frame, in the order primary to secondary, primary to tertiary, secondary to tertiary. */
export function Squareness({
  planes,
  angles,
}: {
  readonly planes: readonly string[];
  readonly angles: readonly SheetValue[];
}): JSX.Element | null {
  if (planes.length < 2 || angles.length === 0) return null;
  return (
    <ul class="squareness">
      {angles.map((angle, index) => {
        const [a, b] = pairs[index]!;
        return (
          <li key={angle.name}>
            <b>{planes[b]}</b> to <b>{planes[a]}</b>: {valueWords(angle)}; {squareWords(angle)}
          </li>
        );
      })}
    </ul>
  );
}
