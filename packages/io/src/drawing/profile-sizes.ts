import { type Profile, type ProfileMeasure, profileMeasures, type SheetValue, type Vec2 } from '@fettle/geom';
import type { Drawing } from './drawing.js';
import { sizeText } from './size-text.js';

/** What is known of a size of a profile: the value of the job sheet, or what the points alone say. */
export type Told = (measure: ProfileMeasure) => SheetValue;

/** 95 % of a normal distribution, as the job sheet has it of profiles. */
const COVERAGE = 1.96;

/** A size with the ± that the scatter of the points gives it; angles in degrees. */
export function toldByPoints({
  kind,
  value,
  standard,
}: Pick<ProfileMeasure, 'kind' | 'value' | 'standard'>): SheetValue {
  const isAngle = kind === 'angle';
  const factor = isAngle ? 180 / Math.PI : 1;
  return {
    name: kind,
    value: factor * value,
    unit: kind === 'area' ? 'mm²' : isAngle ? '°' : 'mm',
    ...(standard !== undefined && { uncertainty: COVERAGE * factor * standard }),
  };
}

/** A size whose ± is as large as itself says nothing: it is not drawn. */
export const saysSomething = ({ value, uncertainty = 0 }: SheetValue): boolean => uncertainty < Math.abs(value);

/** Of each kind of size, as many are drawn; the job sheet has the others. */
const MOST = 6;

/** Radians: a corner this near to square is not written, as on any drawing (ISO 129-1). */
const SQUARE = 0.002;

/**
 * Widths and depths of a profile as dimensions, and angles of its corners as words there, in its section's axes, mm. Of sizes
 * that are the same within their ±, and run the same way, one is drawn.
 */
export function profileSizes(profile: Profile, told: Told): Pick<Drawing, 'dimensions' | 'labels'> {
  const measures = profileMeasures(profile).filter((m) => saysSomething(told(m)));
  const across = distinct(
    measures.filter(({ kind }) => kind === 'width' || kind === 'depth'),
    (m) => wayOf(profile, m),
  );
  const angles = measures.filter((m) => m.kind === 'angle' && !isSquare(m));
  return {
    dimensions: across.slice(0, MOST).map((m) => ({ ...endsOf(profile, m), text: sizeText(told(m)) })),
    labels: distinct(angles, () => 0)
      .slice(0, MOST)
      .map((m) => ({ at: profile.joins[m.pieces[0]!]!.at, text: sizeText(told(m)) })),
  };

  function distinct(list: readonly ProfileMeasure[], way: (m: ProfileMeasure) => number): ProfileMeasure[] {
    const isOne = (a: ProfileMeasure, b: ProfileMeasure) =>
      way(a) === way(b) && Math.abs(told(a).value - told(b).value) <= (told(a).uncertainty ?? 0) + 1e-9;
    return list.filter((m, i) => list.findIndex((o) => isOne(o, m)) === i);
  }
}

const isSquare = ({ value, standard = 0 }: ProfileMeasure): boolean =>
  Math.abs(value - Math.PI / 2) <= Math.max(SQUARE, 2 * standard);

/** The way a size runs, in tenths of half a turn. */
function wayOf(profile: Profile, measure: ProfileMeasure): number {
  const { from, to } = endsOf(profile, measure);
  const angle = Math.atan2(to[1] - from[1], to[0] - from[0]);
  return (Math.round((10 * angle) / Math.PI) + 10) % 10;
}

/** From the middle of the shorter line to its foot on the other. */
function endsOf({ pieces }: Profile, { pieces: own }: ProfileMeasure): { readonly from: Vec2; readonly to: Vec2 } {
  const [a, b] = own.map((k) => pieces[k]!).sort((p, q) => p.length - q.length);
  const from: Vec2 = [(a!.start[0] + a!.end[0]) / 2, (a!.start[1] + a!.end[1]) / 2];
  const [dx, dy] = [b!.end[0] - b!.start[0], b!.end[1] - b!.start[1]];
  const along = ((from[0] - b!.start[0]) * dx + (from[1] - b!.start[1]) * dy) / (dx * dx + dy * dy);
  return { from, to: [b!.start[0] + along * dx, b!.start[1] + along * dy] };
}
