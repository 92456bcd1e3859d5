import { FettleError } from '../../error.js';
import type { Section } from '../section.js';
import { assemble } from './assemble.js';
import { innerPart, stretchesByJoins } from './breaks.js';
import { type HandPiece, handStretches, splitAround } from './by-hand.js';
import { withoutDoubtfulArcs } from './choice.js';
import { fitFlat } from './fit.js';
import { correlationInflation, looksWavy, outlineNoise, residualRuns, spreadOf } from './noise.js';
import type { Profile } from './pieces.js';
import { medianSpacing, type Outline, outlineOf } from './places.js';
import { withoutRoundings } from './rounding.js';
import type { Stretch } from './split.js';
import { statedShapes } from './stated.js';
import { tangentChain } from './tangency.js';
import { unbentArcs } from './unbent.js';
import { wavyOutline } from './waviness.js';
import { wavyChain } from './wavy.js';

export interface ProfileOptions {
  /**
   * Departures up to this much are no reason for another piece, mm. Default 0.02, with the scan's own noise found and added, and waves of
   * the surface looked for; given, it is the last word on what is shape, and no waves are.
   */
  readonly tolerance?: number;
  /** Shortest piece looked for, mm. Default: nine times the spacing of the section's points. */
  readonly shortest?: number;
  /**
   * An arc between two lines of which less than this lies off both lines is how the scan rounds a sharp corner, mm.
   * Default: half the shortest piece.
   */
  readonly sharp?: number;
  /** Pieces a person has picked. The rest of the outline is split around them. */
  readonly pieces?: readonly HandPiece[];
  /** Places of arcs, in the profile without this, that are taken for lines: see {@link unbentArcs}. */
  readonly straight?: readonly number[];
}

/**
 * What a tangency may cost, in squared standard uncertainties, as the breaks settle: first every fillet is let find its place
 * between its neighbors; in the end chance may be to blame once in a thousand (χ² of one freedom).
 */
const TANGENCY_LIMITS = [30, 16, 10.8, 10.8];

/**
 * Waves of a larger standard deviation are shape, mm, unless four times the noise is more: a hexagon with rounded
 * corners is a circle with waves of 0.35 mm, and up to 0.32 mm two in 100 of them were taken for one.
 */
const HIGHEST = 0.2;

/** Points an outline needs to be split. */
const FEWEST = 12;

/**
 * The chain of lines and arcs that holds an outline within tolerance with the fewest pieces (see {@link splitOutline}), fitted
 * together to their points (see {@link fitChain}), neighbors tangent where the data do not speak against it, corners where
 * neighbors cross.
 *
 * The scan's noise, with how far neighboring points err together, is found from the outline itself and found again from the
 * pieces' residuals until both agree. Where points far apart err by more than near ones, chains with waves along the outline are
 * tried beside (see {@link wavyChain}): by them fewer pieces hold, and their uncertainties are larger. Not
 * where a tolerance is given: of the key slot of the examples' pump, in 0.2 mm, waves as high would leave a circle.
 *
 * @param section a section with polylines
 * @param index which polyline
 * @throws FettleError `profile-no-polyline`; `profile-too-short` for an outline of fewer than 12 points; `profile-piece-short`
 * and `profile-pieces-overlap` for picked pieces
 */
export function profileOf(section: Section, index = 0, options: ProfileOptions = {}): Profile {
  const { outline: plain, byHand } = prepared(section, index, options);
  const spacing = medianSpacing(plain);
  const minimumPoints = Math.max(6, Math.round((options.shortest ?? 9 * spacing) / spacing));
  const floor = (options.tolerance ?? 0.02) / 3;

  let outline = plain;
  let noise = outlineNoise(outline);
  let sigma = Math.max(noise, floor);
  let stretches = splitAround(plain, byHand, sigma, minimumPoints);
  const highest = Math.max(HIGHEST, 4 * noise);
  const wavy =
    options.tolerance === undefined && looksWavy(plain)
      ? wavyChain(plain, stretches, byHand, sigma, floor, highest, minimumPoints)
      : undefined;
  const waves = wavy?.waves;
  if (wavy) {
    stretches = wavy.stretches;
    noise = sigma = wavy.white;
    outline = wavyOutline(plain, sigma, wavy.waves);
  }
  for (let pass = 0; pass < 4 && !wavy; pass++) {
    if (pass > 0) stretches = splitAround(outline, byHand, sigma, minimumPoints);
    const runs = residualRuns(outline, stretches.map(innerPart));
    noise = spreadOf(runs);
    const next = Math.max(noise * Math.sqrt(correlationInflation(runs.map((r) => r.residuals))), floor);
    const settled = Math.abs(next / sigma - 1) < 0.1;
    sigma = next;
    if (settled) break;
  }
  const sharp = Math.round((options.sharp ?? (minimumPoints * spacing) / 2) / spacing);
  const joined = (limit: number, isLast = false): Profile => {
    const alone = stretches.map(innerPart).map((s) => fitFlat(outline, s.shape, s.from, s.to));
    stretches = withoutRoundings(stretches, alone, outline, sharp, sigma);
    const inner = stretches.map(innerPart);
    const chain = tangentChain(outline, inner, sigma, limit);
    const { constraints } = chain;
    const stated = statedShapes(chain, sigma, isLast ? waves : undefined, plain, inner, constraints);
    return assemble(outline, { stretches, ...stated, constraints, noise, sigma, ...(waves && { waves }) });
  };
  stretches = withoutDoubtfulArcs(outline, stretches, sigma, minimumPoints);
  let profile = joined(TANGENCY_LIMITS[0]);
  TANGENCY_LIMITS.slice(1).forEach((limit, k) => {
    stretches = stretchesByJoins(stretches, profile.joins, outline, minimumPoints, sigma);
    profile = joined(limit, k === TANGENCY_LIMITS.length - 2);
  });
  const straight = [...(options.straight ?? []), ...unbentArcs(profile)];
  if (straight.length === 0) return profile;
  stretches = stretches.map((stretch, k) =>
    straight.includes(k) && stretch.byHand === undefined ? { ...stretch, shape: 'line' } : stretch,
  );
  return joined(TANGENCY_LIMITS[TANGENCY_LIMITS.length - 1], true);
}

function prepared(
  section: Section,
  index: number,
  { pieces = [] }: ProfileOptions,
): { outline: Outline; byHand: Stretch[] } {
  const polyline = section.polylines[index];
  const count = section.polylines.length;
  if (!polyline)
    throw new FettleError(
      'profile-no-polyline',
      count === 0
        ? 'The section has no line to make a profile of: of a cloud it holds points only. Cut a mesh.'
        : `polyline ${index}: the section has ${count}. Name one from 0 to ${count - 1}.`,
    );
  const outline = outlineOf(polyline);
  const n = outline.weights.length;
  if (n < FEWEST)
    throw new FettleError(
      'profile-too-short',
      `The outline has ${n} points; a profile needs ${FEWEST} or more. Cut where the scan is denser, or fit a line or circle by hand.`,
    );
  return { outline, byHand: handStretches(polyline, pieces) };
}
