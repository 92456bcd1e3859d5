import type { Vec2 } from '@fettle/geom';
import {
  type Box,
  boxAbout,
  boxesOverlap,
  boxInside,
  grown,
  lengthInside,
  type Segment,
  segmentsCross,
} from './box.js';

/** Something to be written beside a place, joined to it by a leader line. */
export interface LabelRequest {
  /** What the leader line points at. */
  readonly anchor: Vec2;
  readonly width: number;
  readonly height: number;
  /** Direction in which it would best lie from its anchor; any length. */
  readonly prefer?: Vec2;
  /** Where its leader ends when it lies in a box. Default: in the middle. */
  end?(box: Box): Vec2;
}

export interface PlacedLabel {
  readonly anchor: Vec2;
  readonly center: Vec2;
  readonly box: Box;
  /** Where its leader ends. */
  readonly end: Vec2;
}

export interface LabelSurroundings {
  /** Labels stay inside. */
  readonly area: Box;
  /** Least distance between labels, and from obstacles. */
  readonly gap: number;
  /** From an anchor to the middle of its label, at best. */
  readonly reach: number;
  /** What no label may cover. */
  readonly obstacles?: readonly Box[];
  /** Lines labels and leaders should keep off, if they can. */
  readonly lines?: readonly Segment[];
  /** What it costs to lie here, in lengths of leader line: how much of the part would be covered, say. */
  cost?(box: Box): number;
}

const DIRECTIONS = 24;
/** Lengths of leader lines tried, in reaches. */
const LENGTHS = [1, 1.4, 1.9, 2.6, 3.5, 5];
/** Times every label is taken up and laid down again among the others, at most: until none finds a better place. */
const SWEEPS = 8;

/**
 * Places labels beside their anchors so that none overlaps another or an obstacle; leaders keep off labels and off each
 * other where they can. Each label takes the cheapest of {@link DIRECTIONS} × {@link LENGTHS} places around its anchor, those
 * with the fewest free places first; then each is taken up and laid down again. One that finds no free place around its
 * anchor takes the nearest on a grid over the area.
 *
 * @returns one a request, in their order; undefined where the area has no room left
 */
export function placeLabels(
  requests: readonly LabelRequest[],
  surroundings: LabelSurroundings,
): (PlacedLabel | undefined)[] {
  const places = requests.map((request) => candidates(request, surroundings));
  const order = requests.map((_, i) => i).sort((a, b) => places[a]!.length - places[b]!.length || a - b);
  const placed: (PlacedLabel | undefined)[] = requests.map(() => undefined);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let isSettled = true;
    for (const i of order) {
      const before = placed[i];
      placed[i] = undefined;
      const others = placed.filter((label) => label !== undefined);
      placed[i] =
        cheapest(places[i]!, others, surroundings) ??
        cheapest(gridPlaces(requests[i]!, surroundings), others, surroundings);
      isSettled &&= isSamePlace(placed[i], before);
    }
    if (isSettled) break;
  }
  return placed;
}

const isSamePlace = (a: PlacedLabel | undefined, b: PlacedLabel | undefined): boolean =>
  a?.center[0] === b?.center[0] && a?.center[1] === b?.center[1];

interface Place {
  readonly label: PlacedLabel;
  /** Of the place itself, whatever the other labels do. */
  readonly cost: number;
}

function candidates(request: LabelRequest, surroundings: LabelSurroundings): Place[] {
  const { anchor, width, height } = request;
  const found: Place[] = [];
  for (const length of LENGTHS)
    for (let d = 0; d < DIRECTIONS; d++) {
      const angle = (2 * Math.PI * (d + 0.5)) / DIRECTIONS;
      const [ux, uy] = [Math.cos(angle), Math.sin(angle)];
      // A wide label begins where its leader ends.
      const far = surroundings.reach * length + (Math.abs(ux) * Math.max(0, width - height)) / 2;
      const place = placeAt(request, [anchor[0] + far * ux, anchor[1] + far * uy], surroundings);
      if (place) found.push(place);
    }
  return found;
}

function gridPlaces(request: LabelRequest, surroundings: LabelSurroundings): Place[] {
  const { area, gap } = surroundings;
  const { width, height } = request;
  const step = Math.max(gap, Math.min(width, height) / 2);
  const found: Place[] = [];
  for (let y = area.top + height / 2; y <= area.bottom - height / 2; y += step)
    for (let x = area.left + width / 2; x <= area.right - width / 2; x += step) {
      const place = placeAt(request, [x, y], surroundings);
      if (place) found.push(place);
    }
  return found;
}

function placeAt(
  { anchor, width, height, prefer, end }: LabelRequest,
  center: Vec2,
  { area, gap, reach, obstacles = [], lines = [], cost }: LabelSurroundings,
): Place | undefined {
  const box = boxAbout(center, width, height);
  const around = grown(box, gap);
  if (!boxInside(box, area) || obstacles.some((obstacle) => boxesOverlap(around, obstacle))) return undefined;
  const label = { anchor, center, box, end: end?.(box) ?? center };
  const [dx, dy] = [center[0] - anchor[0], center[1] - anchor[1]];
  const length = Math.hypot(dx, dy);
  let price = length;
  if (prefer)
    price += reach * (1 - (dx * prefer[0] + dy * prefer[1]) / (length * Math.hypot(prefer[0], prefer[1]) || 1));
  for (const obstacle of obstacles) if (lengthInside(leaderOf(label), obstacle) > 0) price += 4 * reach;
  for (const line of lines) price += 3 * lengthInside(line, around);
  price += reach * (cost?.(around) ?? 0);
  return { label, cost: price };
}

const leaderOf = ({ anchor, end }: PlacedLabel): Segment => [anchor[0], anchor[1], end[0], end[1]];

function cheapest(
  places: readonly Place[],
  others: readonly PlacedLabel[],
  { gap, reach }: LabelSurroundings,
): PlacedLabel | undefined {
  let best: PlacedLabel | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const { label, cost } of places) {
    if (cost >= least) continue;
    const leader = leaderOf(label);
    const around = grown(label.box, gap);
    let price = cost;
    for (const other of others) {
      if (boxesOverlap(around, other.box)) price = Number.POSITIVE_INFINITY;
      const theirs = leaderOf(other);
      if (segmentsCross(leader, theirs)) price += 4 * reach;
      if (lengthInside(leader, other.box) > 0) price += 6 * reach;
      if (lengthInside(theirs, around) > 0) price += 6 * reach;
      if (price >= least) break;
    }
    if (price < least) {
      least = price;
      best = label;
    }
  }
  return best;
}
