import { isReadable } from '../read/plausible-size.js';
import { formatNames } from '../read/scan-source.js';
import { counted, countText, fixed, megabytes } from '../text/number-text.js';
import { wrapText } from '../text/text-layout.js';
import { plainText } from '../text/visible-text.js';
import type { ScanInfo } from './scan-info.js';

const LABEL = 16;

/** Warnings that the line on units tells already. */
const TOLD: ReadonlySet<string> = new Set(['units-assumed', 'implausible-extent']);

/** What there is to know of a scan, as text: a line a fact, then the warnings. */
export function scanInfoText(info: ScanInfo, width: number = 100): string {
  const { source, extent, bounds, pieces, holes } = info;
  const axes = ['x', 'y', 'z'].map((axis, i) => `${axis} ${size(bounds.min[i]!)} to ${size(bounds.max[i]!)}`);
  const facts: (readonly [string, string])[] = [
    ...(source
      ? ([
          ['format', `${formatNames[source.format]}, ${source.encoding}`],
          ['file size', source.bytes < 100_000 ? counted(source.bytes, 'byte') : `${megabytes(source.bytes)} MB`],
        ] as const)
      : []),
    ['points', countText(info.points)],
    ['triangles', info.triangles > 0 ? countText(info.triangles) : 'none: a cloud of points'],
    ['normals', info.normals ? 'yes' : 'no'],
    ['colors', info.colors ? 'yes' : 'no'],
    ['extent', `${extent.map(size).join(' × ')} mm`],
    ['', `${axes.join(', ')}`],
    ['units', unitsText(info)],
    ['point spacing', `${size(info.spacing)} mm`],
  ];
  if (pieces) facts.push(['pieces', piecesText(pieces)]);
  if (holes) facts.push(['holes', holesText(holes)]);
  const lines = [
    plainText(info.name),
    ...facts.flatMap(([label, text]) =>
      wrapText(text, width - LABEL - 2).map((line, l) => `  ${(l === 0 ? label : '').padEnd(LABEL)}${line}`),
    ),
  ];
  const warnings = info.warnings.filter(({ code }) => !TOLD.has(code));
  if (warnings.length > 0) lines.push('', 'Warnings');
  for (const { message } of warnings) lines.push(...wrapText(`- ${plainText(message)}`, width, '  '));
  return `${lines.join('\n')}\n`;
}

/** A length with some five digits, no finer than 0.001. */
const size = (mm: number): string => fixed(mm, Math.abs(mm) >= 100 ? 1 : Math.abs(mm) >= 10 ? 2 : 3);

function unitsText({ source, size: { plausible, offers }, extent }: ScanInfo): string {
  const unit = source?.unit ?? 'mm';
  const from = { file: 'as the file says', caller: 'as you say', assumed: 'assumed: the file names none' };
  const known = source ? `${unit}, ${from[source.unitFrom]}` : unit;
  const largest = Math.max(...extent);
  if (plausible) return `${known}; plausible`;
  const doubt = `${known}; ${size(largest)} mm is ${largest < 10 ? 'small' : 'large'} for a machine or a part of one.`;
  if (offers.length === 0) return `${doubt} No usual unit makes it plausible.`;
  const sizes = offers.map(
    (offer, i) => `if ${i === 0 ? 'its numbers are ' : ''}${offer.unit} it is ${size(offer.size)} mm`,
  );
  const readable = offers.map((offer) => offer.unit).filter(isReadable);
  const remedy = readable.length === 0 ? '' : `, or read it with --units ${eitherOf(readable)}`;
  return `${doubt} I${sizes.join(', ').slice(1)}: export it again in mm${remedy}.`;
}

/** `a, b or c`. */
const eitherOf = (words: readonly string[]): string =>
  words.length === 1 ? words[0]! : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;

function piecesText({ count, largest, specks, loosePoints }: NonNullable<ScanInfo['pieces']>): string {
  const parts = count === 1 ? ['1: all of it hangs together'] : [`${countText(count)}`];
  if (count > 1) parts.push(`the largest has ${fixed(100 * largest, 1)} % of the area`);
  if (specks > 0) parts.push(`${countText(specks)} are specks`);
  if (loosePoints > 0) parts.push(`${counted(loosePoints, 'point')} in no triangle`);
  return parts.join('; ');
}

function holesText({ count, longest }: NonNullable<ScanInfo['holes']>): string {
  if (count === 0) return 'none: the surface is closed';
  const lengths = longest.map(size).join(', ');
  return `${counted(count, 'boundary loop')}; the longest ${lengths} mm around, outer borders among them`;
}
