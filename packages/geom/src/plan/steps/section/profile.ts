import { FettleError, type Warning } from '../../../error.js';
import type { Frame } from '../../../math/frame.js';
import type { Vec2 } from '../../../math/vec2.js';
import { cross, dot, length, subtract, type Vec3 } from '../../../math/vec3.js';
import type { ScanNoise } from '../../../noise/scan-noise.js';
import { polylineLength } from '../../../section/measure.js';
import { constrain } from '../../../section/outline/constrain.js';
import type { Constraint } from '../../../section/outline/constraint.js';
import { type Offer, offers } from '../../../section/outline/offers.js';
import type { Profile, ProfilePiece } from '../../../section/outline/pieces.js';
import { profileOf } from '../../../section/outline/profile.js';
import { withScanNoise } from '../../../section/outline/scan-noise.js';
import { flatDistance } from '../../../section/outline/shape.js';
import { unbentArcs } from '../../../section/outline/unbent.js';
import type { Section } from '../../../section/section.js';
import { courseOf, nearestAlong } from '../../../section/stretch/resample.js';
import type { SectionProfile } from '../../step/outcome.js';
import type { ProfileRequest } from './profile-schema.js';

export interface ProfileMade extends SectionProfile {
  /** What the points do not speak against and the step did not ask for. */
  readonly offered: readonly Offer[];
  readonly warnings: readonly Warning[];
}

/**
 * The profile a step asks for, its constraints applied.
 *
 * @param frame that the step's places are in, and that tells what is horizontal
 * @param noise of the scan, which its uncertainties allow for
 * @param find finds it before they are
 * @throws FettleError as profileOf and constrain do
 */
export function profileAsked(
  section: Section,
  asked: ProfileRequest,
  frame: Frame,
  noise: ScanNoise,
  find = profileOf,
): ProfileMade {
  const polyline = polylineOf(section, asked.near && frame.toScan(asked.near));
  const pieces = asked.pieces?.map((p) => ({
    from: frame.toScan(p.from),
    to: frame.toScan(p.to),
    as: p.as,
    ...(p.long && { long: true }),
  }));
  const options = {
    ...(asked.tolerance !== undefined && { tolerance: asked.tolerance }),
    ...(asked.shortest !== undefined && { shortest: asked.shortest }),
    ...(pieces && { pieces }),
  };
  const bent = find(section, polyline, options);
  const straight = unbentArcs(withScanNoise(bent, section, polyline, noise));
  const found = straight.length > 0 ? find(section, polyline, { ...options, straight }) : bent;
  const level = levelOf(section, frame);
  const { profile: plain, warnings } = held(found, section, polyline, asked, frame, level);
  const profile = withScanNoise(plain, section, polyline, noise);
  return {
    polyline,
    profile,
    order: orderOf(profile, level),
    offered: offers(profile, level).filter(isOpen),
    warnings,
  };
}

function polylineOf({ polylines }: Section, near: Vec3 | undefined): number {
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  polylines.forEach((polyline, i) => {
    const rank = near ? nearestAlong(courseOf(polyline), near).distance : -polylineLength(polyline);
    if (rank >= least) return;
    least = rank;
    best = i;
  });
  return best;
}

/** Less than this, mm or radians, a constraint holds already. */
const HELD = 1e-9;
const isOpen = ({ disagreement }: Offer): boolean => Math.abs(disagreement) > HELD;

/** What is horizontal in the section: square to the frame's z, or where the section is cut across z, along its x. */
function levelOf({ plane: { normal }, x, y }: Section, frame: Frame): Vec2 {
  const along = cross(frame.z, normal);
  const [a, b] = length(along) > 1e-3 ? [dot(along, x), dot(along, y)] : [dot(frame.x, x), dot(frame.x, y)];
  const size = Math.hypot(a, b);
  return [a / size, b / size];
}

function held(
  found: Profile,
  section: Section,
  polyline: number,
  { hold = [] }: ProfileRequest,
  frame: Frame,
  level: Vec2,
): { readonly profile: Profile; readonly warnings: readonly Warning[] } {
  const warnings: Warning[] = [];
  let profile = found;
  for (const item of hold) {
    if (typeof item !== 'string') {
      const pieces = item.at.map((place) => pieceAt(profile, section, frame.toScan(place)));
      const isLevel = item.make === 'horizontal' || item.make === 'vertical';
      const asked = { kind: item.make, pieces, ...(isLevel && { level }) } as unknown as Constraint;
      const { strain, count, ...rest } = constrain(profile, section, polyline, [asked]);
      profile = rest;
      if (strain > 4 * count + 4)
        warnings.push({
          code: 'constraint-strained',
          message:
            `${item.make} does not agree with the points: holding it costs ${Number(strain.toFixed(0))} squared standard ` +
            `uncertainties where chance costs ${count}. Look whether it is so on the part.`,
        });
      continue;
    }
    // One at a time, the surest first: what one makes true is not asked twice, and what no longer agrees is left.
    for (let round = 0; round < found.pieces.length ** 2; round++) {
      const open = offers(profile, level).filter(({ constraint }) => constraint.kind === item);
      const next = open.sort((a, b) => a.cost - b.cost).find(isOpen);
      if (!next) break;
      try {
        const { strain: _, count: __, ...rest } = constrain(profile, section, polyline, [next.constraint]);
        profile = rest;
      } catch (error) {
        if (error instanceof FettleError && error.code === 'constraints-conflict') break;
        throw error;
      }
    }
  }
  return { profile, warnings };
}

function pieceAt(profile: Profile, { origin, x, y }: Section, place: Vec3): number {
  const d = subtract(place, origin);
  const at: Vec2 = [dot(d, x), dot(d, y)];
  const off = profile.pieces.map((piece) => distanceTo(piece, at));
  return off.indexOf(Math.min(...off));
}

function distanceTo({ kind, shape, start, end, length: long }: ProfilePiece, at: Vec2): number {
  const across = Math.abs(flatDistance(shape, ...at));
  const ends = Math.min(...[start, end].map((e) => Math.hypot(at[0] - e[0], at[1] - e[1])));
  // Beside the piece itself its shape is near; beyond its ends they are.
  const isBeside = ends <= (kind === 'line' ? Math.hypot(long / 2, across) : long);
  return isBeside ? across : ends;
}

/**
 * The pieces counterclockwise from the one whose ends lie farthest left together; of two as far the lower, so that noise does not
 * number the next scan otherwise.
 */
function orderOf({ pieces, closed }: Profile, level: Vec2): number[] {
  const places = pieces.map((_, k) => k);
  if (!closed || pieces.length < 2) return places;
  const [lx, ly] = level;
  const back = pieces.map(({ start: [a, b], end: [c, d] }) => (a + c) * (lx - ly / 100) + (b + d) * (ly + lx / 100));
  const first = back.indexOf(Math.min(...back));
  const turn = pieces.reduce((sum, { start: a, end: b }) => sum + a[0] * b[1] - a[1] * b[0], 0);
  return places.map((k) => (first + (turn < 0 ? -k : k) + pieces.length) % pieces.length);
}
