import { FettleError, type Vec2 } from '@fettle/geom';
import type { Box, Segment } from '../labels/box.js';
import { type Drawing, type Extent, extentOf } from './drawing.js';
import { strokeAttributes } from './line-type.js';
import { layDimensions, type PaperDimension, roomForDimensions } from './linear-dimensions.js';
import { isNear, originElements, withOrigin } from './origin-symbol.js';
import { frameOfPaper, PAPERS, type Paper, type PaperName } from './paper.js';
import { paperFor } from './paper-for.js';
import { type PlaceTable, placeTable } from './place-table.js';
import { scaleBar } from './scale-bar.js';
import { segmentsOf, shapeElement } from './shape-elements.js';
import { freeArea, tableCorner } from './sheet-area.js';
import { layLabels } from './sheet-labels.js';
import { TITLE_BLOCK, type TitleBlock, titleBlockElements } from './title-block.js';

export interface SheetOptions extends Partial<TitleBlock> {
  /**
   * mm on paper a mm of the part. Default 1: the sheet is its own template. `fit`: the largest of the usual reductions, no more than
   * 1:1, at which the paper (default: A4, lying or upright, unless its table needs more) holds the drawing.
   */
  readonly scale?: number | 'fit';
  /** Default: the smallest that holds the drawing. */
  readonly paper?: PaperName;
}

/** A drawing laid out on paper. */
export interface Sheet {
  readonly paper: Paper;
  readonly scale: number;
  /** Where the texts, balloons and datum letters lie, mm on paper; none overlaps another. */
  readonly boxes: readonly Box[];
  /** Numbers of balloons the sheet had no room for. */
  readonly leftOut: readonly number[];
  readonly elements: readonly string[];
  /** mm on paper of a place of the drawing. */
  toPaper(p: Vec2): Vec2;
}

/** Radius of balloons, mm; on the smallest paper they are smaller. */
const balloonOn = ({ name }: Paper): number => (name.startsWith('A4') ? 3.2 : 4);

/**
 * Lays a drawing out on paper, true to scale: the part in the middle, dimensions outside it, then datum letters, words and balloons where
 * they cover nothing.
 *
 * @throws FettleError `drawing-empty`, `drawing-scale`, `drawing-paper`, `drawing-too-large` for what its paper, or A0, does not hold
 */
export function laySheet(drawing: Drawing, options: SheetOptions = {}): Sheet {
  const { scale = 1, paper } = options;
  if (scale !== 'fit') return laySheetAt(drawing, scale, options);
  const small: readonly PaperName[] = ['A4 landscape', 'A4'];
  // A long table of places may need larger paper whatever the scale.
  const choices = paper ? [[paper]] : [small, ...PAPERS.map(({ name }) => [name as PaperName])];
  let refused: unknown;
  for (const papers of choices)
    for (const tried of REDUCTIONS)
      for (const name of papers) {
        try {
          return laySheetAt(drawing, tried, { ...options, paper: name });
        } catch (error) {
          if (!(error instanceof FettleError && error.code === 'drawing-too-large')) throw error;
          refused = error;
        }
      }
  throw refused;
}

/** Scales of ISO 5455 from 1:1 down, and 1:2.5 between them, which the trade uses. */
const REDUCTIONS = [1, 1 / 2, 1 / 2.5, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 200, 1 / 500, 1 / 1000];

function laySheetAt(drawing: Drawing, scale: number, options: SheetOptions): Sheet {
  if (!(scale > 0 && Number.isFinite(scale)))
    throw new FettleError(
      'drawing-scale',
      `A drawing cannot have the scale ${scale}. Give a number above 0; 1 is true size.`,
    );
  const drawn = extentOf(drawing);
  if (!drawn)
    throw new FettleError(
      'drawing-empty',
      'There is nothing on this drawing: no line of a section, no feature to be seen from here.',
    );
  const origin = drawing.origin && isNear(drawing.origin.at, drawn) ? drawing.origin : undefined;
  const extent = origin ? withOrigin(drawn, origin, scale) : drawn;
  const table = drawing.table && placeTable(drawing.table);
  const size: Vec2 = [(extent.max[0] - extent.min[0]) * scale, (extent.max[1] - extent.min[1]) * scale];
  const layAt = (left: number, top: number): Laid => {
    const toPaper = ([x, y]: Vec2): Vec2 => [left + (x - extent.min[0]) * scale, top + (extent.max[1] - y) * scale];
    return {
      toPaper,
      part: { left, top, right: left + size[0], bottom: top + size[1] },
      dimensions: onPaper(drawing.dimensions, toPaper),
      lines: drawing.shapes.flatMap((shape) => segmentsOf(shape, toPaper, scale)),
      origin: origin && originElements(origin, toPaper),
    };
  };
  const rough = layAt(0, 0);
  const room = roomForDimensions(rough.dimensions, surroundings(rough));
  const needed: Vec2 = [size[0] + room.right, room.above + size[1] + room.below];
  const paper = paperFor(needed, { scale, table, ...(options.paper && { paper: options.paper }) });
  const free = freeArea(paper, table);
  const left = (free.left + free.right - size[0] - room.right) / 2;
  const top = (free.top + free.bottom - size[1] - room.below + room.above) / 2;
  return compose(drawing, layAt(left, top), { paper, scale, free, table, block: options });
}

/** The part with what belongs to it, somewhere on paper. */
interface Laid {
  readonly toPaper: (p: Vec2) => Vec2;
  readonly part: Box;
  readonly dimensions: readonly PaperDimension[];
  /** Of the part itself. */
  readonly lines: readonly Segment[];
  readonly origin: ReturnType<typeof originElements> | undefined;
}

const surroundings = ({ part, lines, origin }: Laid) => ({ part, lines, obstacles: origin?.boxes ?? [] });

const onPaper = (dimensions: Drawing['dimensions'], toPaper: (p: Vec2) => Vec2): PaperDimension[] =>
  dimensions.map(({ around, ...dimension }) => ({
    ...dimension,
    from: toPaper(dimension.from),
    to: toPaper(dimension.to),
    ...(around && { around: boxOnPaper(around, toPaper) }),
  }));

function boxOnPaper({ min, max }: Extent, toPaper: (p: Vec2) => Vec2): Box {
  const [left, bottom] = toPaper(min);
  const [right, top] = toPaper(max);
  return { left, top, right, bottom };
}

interface Around {
  readonly paper: Paper;
  readonly scale: number;
  readonly free: Box;
  readonly table: PlaceTable | undefined;
  readonly block: Partial<TitleBlock>;
}

function compose(drawing: Drawing, laid: Laid, { paper, scale, free, table, block }: Around): Sheet {
  const { toPaper, origin } = laid;
  const frame = frameOfPaper(paper);
  const dimensions = layDimensions(laid.dimensions, surroundings(laid));
  const bar = scaleBar([frame.left + 8, free.bottom + 12], scale, drawing.notes);
  const obstacles = [...dimensions.boxes, bar.box, ...(origin?.boxes ?? [])];
  const labels = layLabels(drawing, toPaper, {
    area: free,
    obstacles,
    lines: [...laid.lines, ...dimensions.lines],
    balloon: balloonOn(paper),
  });
  const elements = [
    `<rect ${strokeAttributes('outline')} x="${frame.left}" y="${frame.top}" width="${frame.right - frame.left}" height="${frame.bottom - frame.top}"/>`,
    `<g data-part="shapes">${drawing.shapes.map((shape) => shapeElement(shape, toPaper, scale)).join('')}</g>`,
    ...(origin?.elements ?? []),
    ...dimensions.elements,
    ...labels.elements,
    ...bar.elements,
    ...(table ? table.elements(tableCorner(paper, table)) : []),
    ...titleBlockElements(
      { title: '', ...block },
      { scale: scaleText(scale), paper: paper.name.split(' ')[0]! },
      frame.right - TITLE_BLOCK.width,
      frame.bottom - TITLE_BLOCK.height,
    ),
  ];
  return { paper, scale, elements, toPaper, boxes: [...obstacles, ...labels.boxes], leftOut: labels.leftOut };
}

/** Scales as ISO 5455 writes them: `1:2`, `5:1`. */
function scaleText(scale: number): string {
  const short = (value: number): string => String(Number(value.toPrecision(4)));
  return scale >= 1 ? `${short(scale)}:1` : `1:${short(1 / scale)}`;
}
