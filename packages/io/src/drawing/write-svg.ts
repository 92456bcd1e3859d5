import { FettleError, type Section } from '@fettle/geom';
import type { Drawing } from './drawing.js';
import { type SectionDrawingOptions, sectionDrawing } from './section-drawing.js';
import { laySheet, type Sheet, type SheetOptions } from './sheet.js';
import { escaped, FONT, num } from './svg-text.js';

/** Lists a drawing made by hand may leave out. */
const NOTHING = { dimensions: [], labels: [], balloons: [], datums: [] };

export interface SvgOptions extends SheetOptions, SectionDrawingOptions {}

/**
 * A sheet as SVG, true to scale: its width and height are in mm and its coordinates too, so that it prints at its size on A4 to A0
 * (print without fitting to the page, and check the scale bar). Drawn are a section, or whatever {@link sectionDrawing} and
 * `featureDrawing` make. On a screen set to dark the paper turns dark; printed it is black on white.
 *
 * @throws FettleError `drawing-content`, `drawing-empty`, `drawing-scale`, `drawing-paper`, `drawing-too-large`
 */
export function writeSvg(content: Section | Drawing, options: SvgOptions = {}): string {
  const isObject = typeof content === 'object' && content !== null;
  if (
    !isObject ||
    !(['polylines', 'shapes'] as const).some((list) => Array.isArray((content as Partial<Section & Drawing>)[list]))
  )
    throw new FettleError(
      'drawing-content',
      'SVG not written: what is to be drawn is neither a section, with its polylines, nor a drawing, with its shapes. ' +
        'Give what cutMesh, sectionDrawing or featureDrawing made.',
    );
  const drawing = 'polylines' in content ? sectionDrawing(content, options) : { ...NOTHING, ...content };
  return `<?xml version="1.0" encoding="UTF-8"?>\n${sheetSvg(laySheet(drawing, options), options)}\n`;
}

/** A laid out sheet as an `svg` element that stands alone. */
function sheetSvg({ paper, elements }: Sheet, { title, subtitle }: SheetOptions): string {
  const name = [title, subtitle].filter(Boolean).join(', ') || 'Drawing';
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" class="fettle-sheet" role="img" aria-label="${escaped(name)}" width="${num(paper.width)}mm" height="${num(paper.height)}mm" viewBox="0 0 ${num(paper.width)} ${num(paper.height)}" font-family="${FONT}">`,
    `<title>${escaped(name)}</title>`,
    `<style>${STYLE}</style>`,
    `<rect class="paper" width="${num(paper.width)}" height="${num(paper.height)}" fill="#ffffff"/>`,
    ...elements,
    '</svg>',
  ].join('\n');
}

/** A laid out sheet as an `svg` element inside a page, as wide as the page makes it; always black on white. */
export function sheetInPage({ paper, elements }: Sheet, name: string): string {
  const head = `<svg role="img" aria-label="${escaped(name)}" viewBox="0 0 ${num(paper.width)} ${num(paper.height)}" font-family="${FONT}">`;
  return [
    head,
    `<rect width="${num(paper.width)}" height="${num(paper.height)}" fill="#ffffff"/>`,
    ...elements,
    '</svg>',
  ].join('');
}

/** Attributes alone make a sheet for light; programs without style sheets see that. */
const STYLE =
  '@media screen and (prefers-color-scheme: dark){' +
  '.fettle-sheet .paper{fill:#1b1e22}.fettle-sheet .line{stroke:#e6e8ea}.fettle-sheet .ink,.fettle-sheet .fill{fill:#e6e8ea}' +
  '.fettle-sheet .paper-line{fill:#1b1e22;stroke:#e6e8ea}.fettle-sheet .datum-line{stroke:#f08a7c}}';
