import { FettleError, type Vec2 } from '@fettle/geom';
import { type Box, boxAbout, type Segment } from './box.js';
import { DATUM_BOX, datumElements } from './datum-symbol.js';
import { type Drawing, extentOf, placesOnArc, type Shape } from './drawing.js';
import { strokeAttributes } from './line-type.js';
import { balloonElements, layDimensions, type PaperDimension, roomForDimensions } from './linear-dimensions.js';
import { frameOfPaper, PAPERS, type Paper, type PaperName, paperNamed } from './paper.js';
import { type LabelRequest, placeLabels } from './place-labels.js';
import { placeTable } from './place-table.js';
import { scaleBar } from './scale-bar.js';
import { num, textElement, widthOfText } from './svg-text.js';
import { TITLE_BLOCK, type TitleBlock, titleBlockElements } from './title-block.js';

export interface SheetOptions extends Partial<TitleBlock> {
  /**
   * mm on paper a mm of the part. Default 1: the sheet is its own template. `fit`: the largest of the usual reductions, no more than
   * 1:1, at which the paper (default: A4, lying or upright) holds the drawing.
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

/** Free paper around the part for balloons and words, mm. */
const AROUND = 20;
const BALLOON = 4;
const TEXT = 3;

/**
 * Lays a drawing out on paper, true to scale: the part in the middle, dimensions outside it, then datum letters, words and balloons where
 * they cover nothing.
 *
 * @throws FettleError `drawing-empty`, `drawing-scale`, `drawing-paper`, `drawing-too-large` for what its paper, or A0, does not hold
 */
export function laySheet(drawing: Drawing, options: SheetOptions = {}): Sheet {
  const { scale = 1, paper } = options;
  if (scale !== 'fit') return laySheetAt(drawing, scale, options);
  const papers: readonly PaperName[] = paper ? [paper] : ['A4 landscape', 'A4'];
  let refused: unknown;
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
  const size: Vec2 = [(extent.max[0] - extent.min[0]) * scale, (extent.max[1] - extent.min[1]) * scale];
  const table = drawing.table && placeTable(drawing.table);
  const raw: Box = { left: 0, top: 0, right: size[0], bottom: size[1] };
  const rough = (p: Vec2): Vec2 => [(p[0] - extent.min[0]) * scale, (extent.max[1] - p[1]) * scale];
  const room = roomForDimensions(onPaper(drawing.dimensions, rough), raw);
  const needed: Vec2 = [size[0] + room.right + 2 * AROUND, size[1] + room.below + 2 * AROUND];
  const choice = options.paper ? [paperNamed(options.paper)] : PAPERS;
  const paper = choice.find((one) => {
    const free = freeArea(one, table);
    return needed[0] <= free.right - free.left && needed[1] <= free.bottom - free.top;
  });
  if (!paper) throw tooLarge(choice.at(-1)!, needed, scale, table);
  const free = freeArea(paper, table);
  const left = (free.left + free.right - size[0] - room.right) / 2;
  const top = (free.top + free.bottom - size[1] - room.below) / 2;
  const toPaper = ([x, y]: Vec2): Vec2 => [left + (x - extent.min[0]) * scale, top + (extent.max[1] - y) * scale];
  const part: Box = { left, top, right: left + size[0], bottom: top + size[1] };
  return compose(drawing, { origin, paper, scale, toPaper, part, free, table, block: options });
}

type Extent = NonNullable<ReturnType<typeof extentOf>>;

/** The origin is drawn unless it lies farther from the part than half the part's diagonal: paper is for the part. */
function isNear([x, y]: Vec2, { min, max }: Extent): boolean {
  const off = Math.hypot(Math.max(min[0] - x, 0, x - max[0]), Math.max(min[1] - y, 0, y - max[1]));
  return off <= Math.hypot(max[0] - min[0], max[1] - min[1]) / 2;
}

/** The extent with room for the origin and its arrows, mm of the part. */
function withOrigin({ min, max }: Extent, { at, axes }: NonNullable<Drawing['origin']>, scale: number): Extent {
  const reach = (AXIS + 5) / scale;
  const around = 2.5 / scale;
  const places = [at, ...axes.map(({ along }): Vec2 => [at[0] + reach * along[0], at[1] + reach * along[1]])];
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return {
    min: [Math.min(min[0], ...xs.map((x) => x - around)), Math.min(min[1], ...ys.map((y) => y - around))],
    max: [Math.max(max[0], ...xs.map((x) => x + around)), Math.max(max[1], ...ys.map((y) => y + around))],
  };
}

interface Placing {
  readonly origin: Drawing['origin'];
  readonly paper: Paper;
  readonly scale: number;
  readonly toPaper: (p: Vec2) => Vec2;
  readonly part: Box;
  readonly free: Box;
  readonly table: ReturnType<typeof placeTable> | undefined;
  readonly block: Partial<TitleBlock>;
}

/** Height of the strip with scale bar, table and title block. */
const STRIP = TITLE_BLOCK.height + 2;

/** The table lies left of the title block where the paper is wide, else above it. */
const isBeside = (paper: Paper, table: { readonly width: number }): boolean => {
  const frame = frameOfPaper(paper);
  return frame.right - frame.left - TITLE_BLOCK.width - 4 >= table.width;
};

function freeArea(paper: Paper, table: ReturnType<typeof placeTable> | undefined): Box {
  const frame = frameOfPaper(paper);
  const strip = !table ? STRIP : isBeside(paper, table) ? Math.max(STRIP, table.height + 2) : STRIP + table.height + 2;
  // The scale bar lies above the strip.
  return { left: frame.left + 2, top: frame.top + 2, right: frame.right - 2, bottom: frame.bottom - strip - 18 };
}

function tooLarge(
  paper: Paper,
  needed: Vec2,
  scale: number,
  table: ReturnType<typeof placeTable> | undefined,
): FettleError {
  const free = freeArea(paper, table);
  const most = scale * Math.min((free.right - free.left) / needed[0], (free.bottom - free.top) / needed[1]);
  return new FettleError(
    'drawing-too-large',
    `At scale ${scale} the drawing needs ${Math.ceil(needed[0])} × ${Math.ceil(needed[1])} mm, more than ${paper.name} holds. ` +
      `Choose ${paper.name === 'A0' ? '' : 'larger paper or '}a scale of about ${Number((0.9 * most).toPrecision(1))}.`,
  );
}

const onPaper = (dimensions: Drawing['dimensions'], toPaper: (p: Vec2) => Vec2): PaperDimension[] =>
  dimensions.map((dimension) => ({ ...dimension, from: toPaper(dimension.from), to: toPaper(dimension.to) }));

function compose(drawing: Drawing, { origin: near, paper, scale, toPaper, part, free, table, block }: Placing): Sheet {
  const frame = frameOfPaper(paper);
  const dimensions = layDimensions(onPaper(drawing.dimensions, toPaper), part);
  const bar = scaleBar([frame.left + 8, free.bottom + 12], scale);
  const origin = near && originElements(near, toPaper);
  const obstacles = [...dimensions.boxes, bar.box, ...(origin?.boxes ?? [])];
  const outlines = drawing.shapes.flatMap((shape) => segmentsOf(shape, toPaper, scale));
  const turned = ([x, y]: Vec2): Vec2 => [x, -y];
  const requests: LabelRequest[] = [
    ...drawing.datums.map(({ at, outward }) => ({
      anchor: toPaper(at),
      width: DATUM_BOX,
      height: DATUM_BOX,
      ...(outward && { prefer: turned(outward) }),
    })),
    ...drawing.labels.map(({ at, text, prefer }) => ({
      anchor: toPaper(at),
      width: widthOfText(text, TEXT) + 2,
      height: TEXT + 2.4,
      ...(prefer && { prefer: turned(prefer) }),
    })),
    ...drawing.balloons.map(({ at }) => ({ anchor: toPaper(at), width: 2 * BALLOON, height: 2 * BALLOON })),
  ];
  const placed = placeLabels(requests, {
    area: free,
    gap: 1.2,
    reach: 11,
    obstacles,
    lines: [...outlines, ...dimensions.lines],
  });
  const datums = placed.slice(0, drawing.datums.length);
  const labels = placed.slice(datums.length, datums.length + drawing.labels.length);
  const balloons = placed.slice(datums.length + labels.length);
  const leader = (label: { readonly anchor: Vec2; readonly center: Vec2 }): string =>
    `<path ${strokeAttributes('thin')} d="M${num(label.anchor[0])} ${num(label.anchor[1])}L${num(label.center[0])} ${num(label.center[1])}"/>`;
  const elements = [
    `<rect ${strokeAttributes('outline')} x="${frame.left}" y="${frame.top}" width="${frame.right - frame.left}" height="${frame.bottom - frame.top}"/>`,
    `<g data-part="shapes">${drawing.shapes.map((shape) => shapeElement(shape, toPaper, scale)).join('')}</g>`,
    ...(origin?.elements ?? []),
    ...dimensions.elements,
    ...drawing.labels.flatMap(({ text }, i) => {
      const label = labels[i];
      if (!label) return [];
      const { box, anchor, center } = label;
      return [
        leader({ anchor, center: [nearer(anchor[0], box.left, box.right), center[1]] }),
        `<path ${strokeAttributes('thin')} d="M${num(box.left)} ${num(box.bottom - 0.6)}H${num(box.right)}"/>`,
        textElement(text, [box.left + 1, box.bottom - 1.6], { size: TEXT }),
      ];
    }),
    ...balloons.flatMap((label) => (label ? [leader(label)] : [])),
    ...drawing.datums.flatMap(({ letter, outward }, i) => {
      const label = datums[i];
      return label ? datumElements(letter, label.anchor, label.box, outward && turned(outward)) : [];
    }),
    ...drawing.balloons.flatMap(({ number }, i) => {
      const label = balloons[i];
      if (!label) return [];
      const dot = `<circle class="fill" fill="#16191d" cx="${num(label.anchor[0])}" cy="${num(label.anchor[1])}" r="0.5"/>`;
      return [dot, ...balloonElements(number, label.center, BALLOON)];
    }),
    ...bar.elements,
    ...(table ? table.elements(tableCorner(paper, table)) : []),
    ...titleBlockElements(
      { title: '', ...block },
      { scale: scaleText(scale), paper: paper.name.split(' ')[0]! },
      frame.right - TITLE_BLOCK.width,
      frame.bottom - TITLE_BLOCK.height,
    ),
  ];
  return {
    paper,
    scale,
    elements,
    toPaper,
    boxes: [
      ...dimensions.boxes,
      bar.box,
      ...(origin?.boxes ?? []),
      ...placed.flatMap((label) => (label ? [label.box] : [])),
    ],
    leftOut: drawing.balloons.flatMap(({ number }, i) => (balloons[i] ? [] : [number])),
  };
}

const nearer = (to: number, a: number, b: number): number => (Math.abs(a - to) <= Math.abs(b - to) ? a : b);

function tableCorner(paper: Paper, table: ReturnType<typeof placeTable>): Vec2 {
  const frame = frameOfPaper(paper);
  if (isBeside(paper, table)) return [frame.left, frame.bottom - table.height];
  return [frame.right - table.width, frame.bottom - TITLE_BLOCK.height - 2 - table.height];
}

/** Scales as ISO 5455 writes them: `1:2`, `5:1`. */
function scaleText(scale: number): string {
  const short = (value: number): string => String(Number(value.toPrecision(4)));
  return scale >= 1 ? `${short(scale)}:1` : `1:${short(1 / scale)}`;
}

/** How far center lines reach beyond a circle, and the arms of a point's cross, mm on paper. */
const OVERSHOOT = 3;

function shapeElement(shape: Shape, toPaper: (p: Vec2) => Vec2, scale: number): string {
  const look = strokeAttributes(shape.line);
  if (shape.kind === 'polyline') return `<path ${look} d="${polylinePath(shape, toPaper)}"/>`;
  const [cx, cy] = toPaper(shape.center);
  if (shape.kind === 'center-mark') {
    const arm = shape.radius * scale + OVERSHOOT;
    // From the middle outward, so that long dashes cross there.
    const middle = `M${num(cx)} ${num(cy)}`;
    return `<path ${look} d="${['h', 'v'].flatMap((way) => [arm, -arm].map((by) => `${middle}${way}${num(by)}`)).join('')}"/>`;
  }
  const radius = shape.radius * scale;
  if (Math.abs(shape.sweep) >= 2 * Math.PI - 1e-9)
    return `<circle ${look} cx="${num(cx)}" cy="${num(cy)}" r="${num(radius)}"/>`;
  const [from, to] = placesOnArc(shape, 1).map(toPaper) as [Vec2, Vec2];
  const large = Math.abs(shape.sweep) > Math.PI ? 1 : 0;
  // Down is positive on paper: counterclockwise is a negative turn there.
  return `<path ${look} d="M${num(from[0])} ${num(from[1])}A${num(radius)} ${num(radius)} 0 ${large} ${shape.sweep > 0 ? 0 : 1} ${num(to[0])} ${num(to[1])}"/>`;
}

/** Points nearer than this to the last one drawn are left out, mm on paper: a fifth of the narrowest line. */
const FINEST = 0.05;

function polylinePath({ flat, closed }: Extract<Shape, { kind: 'polyline' }>, toPaper: (p: Vec2) => Vec2): string {
  let d = '';
  let [lastX, lastY] = [Infinity, Infinity];
  for (let i = 0; i < flat.length; i += 2) {
    const [x, y] = toPaper([flat[i]!, flat[i + 1]!]);
    const isEnd = i === 0 || i === flat.length - 2;
    if (!isEnd && Math.hypot(x - lastX, y - lastY) < FINEST) continue;
    d += `${i === 0 ? 'M' : 'L'}${x.toFixed(3)} ${y.toFixed(3)}`;
    [lastX, lastY] = [x, y];
  }
  return closed ? `${d}Z` : d;
}

/** Length of the pieces lines are looked at in when labels are placed, mm on paper. */
const COARSE = 2;

function segmentsOf(shape: Shape, toPaper: (p: Vec2) => Vec2, scale: number): Segment[] {
  if (shape.kind === 'center-mark') return [];
  const places: Vec2[] = [];
  if (shape.kind === 'arc') {
    const pieces = Math.max(2, Math.ceil((Math.abs(shape.sweep) * shape.radius * scale) / COARSE));
    places.push(...placesOnArc(shape, Math.min(200, pieces)).map(toPaper));
  } else {
    const { flat, closed } = shape;
    for (let i = 0; i < flat.length; i += 2) {
      const p = toPaper([flat[i]!, flat[i + 1]!]);
      const last = places.at(-1);
      if (!last || i === flat.length - 2 || Math.hypot(p[0] - last[0], p[1] - last[1]) >= COARSE) places.push(p);
    }
    if (closed && places.length > 1) places.push(places[0]!);
  }
  return places.slice(1).map((p, i): Segment => [places[i]![0], places[i]![1], p[0], p[1]]);
}

/** Arrows from the origin of the datum frame, mm on paper. */
const AXIS = 12;

function originElements(
  { at, axes }: NonNullable<Drawing['origin']>,
  toPaper: (p: Vec2) => Vec2,
): { elements: string[]; boxes: Box[] } {
  const [x, y] = toPaper(at);
  const tips = axes.map(({ name, along }) => {
    const size = Math.hypot(...along);
    const [ux, uy] = [along[0] / size, -along[1] / size];
    return { name, ux, uy, tip: [x + AXIS * ux, y + AXIS * uy] as Vec2 };
  });
  return {
    boxes: [
      boxAbout([x, y], 3, 3),
      ...tips.map(({ ux, uy }) => boxAbout([x + (AXIS + 2.5) * ux, y + (AXIS + 2.5) * uy], 4, 4)),
    ],
    elements: [
      `<circle class="datum-line" fill="none" stroke="#b23428" stroke-width="0.35" cx="${num(x)}" cy="${num(y)}" r="1.2"/>`,
      ...tips.flatMap(({ name, ux, uy, tip }) => [
        `<path class="datum-line" fill="none" stroke="#b23428" stroke-width="0.35" d="M${num(x)} ${num(y)}L${num(tip[0])} ${num(tip[1])}M${num(tip[0] - 2.2 * ux + 0.8 * uy)} ${num(tip[1] - 2.2 * uy - 0.8 * ux)}L${num(tip[0])} ${num(tip[1])}L${num(tip[0] - 2.2 * ux - 0.8 * uy)} ${num(tip[1] - 2.2 * uy + 0.8 * ux)}"/>`,
        textElement(name, [x + (AXIS + 2.5) * ux, y + (AXIS + 2.5) * uy + 1], { size: 2.5, align: 'middle' }),
      ]),
    ],
  };
}
