import type { Step, Vec3 } from '@fettle/geom';
import { placeLabels, sizeText } from '@fettle/io';
import type { Session } from '../session/session.js';
import type { StepView } from '../worker/protocol.js';
import { type DrawingAxes, onSheet } from './drawing-axes.js';
import { type SheetRig, toPixels } from './sheet-rig.js';

type Vec2 = readonly [number, number];

/** Pixels of a rectangle. */
export interface LabelBox {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** A row of the job sheet that is about the section, as the drawing shows it. */
export interface FittedLabel {
  readonly view: StepView;
  /** Its size, as on a drawing; empty where it has none. */
  readonly text: string;
  /** Where it points to. */
  readonly anchor: Vec2;
  /** Middle of its balloon. */
  readonly ring: Vec2;
  readonly box: LabelBox;
  /** Of a distance: from where to where. */
  readonly between?: readonly [Vec2, Vec2];
}

/** Pixels. */
export const RING = 10;
const LETTER = 6.9;

/** What is written beside the balloon of a row. */
function sizeOf({ row, feature }: StepView, step: Step): string {
  const value = row?.values.find(({ name }) => name === (feature?.kind === 'circle' ? 'diameter' : name));
  if (!value || (feature && feature.kind !== 'circle') || step.step === 'construct') return '';
  return sizeText(value, feature ? '⌀' : '').replace('-', '−');
}

/** What was fitted to a section. */
export function fitsOn(session: Session, id: string): readonly StepView[] {
  const on = session.plan.value.steps.flatMap((step) => (step.step === 'fit' && step.to === id ? [step.id] : []));
  return session.run.value.steps.filter((view) => on.includes(view.id));
}

/** Rows of what is fitted to a section, and of what is measured between such fits, laid so that none covers another. */
export function fittedLabels(session: Session, id: string, axes: DrawingAxes, rig: SheetRig): readonly FittedLabel[] {
  const { steps } = session.plan.value;
  const on = new Set(fitsOn(session, id).map((view) => view.id));
  const views = new Map(session.run.value.steps.map((view) => [view.id, view]));
  const flat = (place: Vec3): Vec2 => toPixels(rig, onSheet(axes, place));
  const wanted = steps.flatMap((step) => {
    const view = views.get(step.id);
    if (!view?.row) return [];
    if (on.has(step.id) && view.drawn) return [{ view, anchor: flat(view.drawn.anchor), text: sizeOf(view, step) }];
    const ends = endsOf(step);
    if (ends.length !== 2 || !ends.every((end) => on.has(end))) return [];
    const between = view.between?.map(flat) as [Vec2, Vec2] | undefined;
    const anchors =
      between ??
      ends.flatMap((end) => {
        const drawn = views.get(end)?.drawn;
        return drawn ? [flat(drawn.anchor)] : [];
      });
    if (anchors.length !== 2) return [];
    const anchor = [0, 1].map((k) => (anchors[0]![k]! + anchors[1]![k]!) / 2) as unknown as Vec2;
    return [{ view, anchor, text: sizeOf(view, step), ...(between && { between }) }];
  });
  const inSight = wanted.filter(({ anchor: [x, y] }) => x > 0 && y > 0 && x < rig.width && y < rig.height);
  const widths = inSight.map(({ text }) => 2 * RING + (text ? LETTER * text.length + 8 : 0));
  const laid = placeLabels(
    inSight.map(({ anchor }, i) => ({ anchor, width: widths[i]!, height: 2 * RING, prefer: [1, -0.7] as const })),
    { area: { left: 6, top: 6, right: rig.width - 6, bottom: rig.height - 30 }, gap: 4, reach: 34 },
  );
  return inSight.flatMap((label, i) => {
    const center = laid[i]?.center;
    if (!center) return [];
    const [wide, high] = [widths[i]! / 2, RING];
    const [left, right] = [center[0] - wide, center[0] + wide];
    const box = { left, top: center[1] - high, right, bottom: center[1] + high };
    return [{ ...label, ring: [left + RING, center[1]] as const, box }];
  });
}

/** What a step measures between. */
function endsOf(step: Step): readonly string[] {
  if (step.step !== 'measure') return [];
  if ('distance' in step) return step.distance;
  return 'angle' in step ? step.angle : [];
}
