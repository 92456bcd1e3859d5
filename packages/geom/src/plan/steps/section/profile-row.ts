import type { Warning } from '../../../error.js';
import { scaleStandard } from '../../../feature/scale-error.js';
import type { ScannerAccuracy } from '../../../feature/uncertainty.js';
import type { Constraint } from '../../../section/outline/constraint.js';
import { type ProfileMeasure, profileMeasures } from '../../../section/outline/measures.js';
import type { Waves } from '../../../section/outline/waviness.js';
import { together } from '../../../text/in-words.js';
import { judge } from '../../step/judge.js';
import type { Limits } from '../../step/outcome.js';
import { fromZero, inDegrees, type Reading } from '../../step/reading.js';
import type { Row } from '../../step/row.js';
import type { ProfileMade } from './profile.js';

/** 95 % of a normal distribution. */
const COVERAGE = 1.96;

/** Offers told in words; more are left to who draws the profile. */
const TOLD = 6;

/** The row of a profile on the job sheet: its radii, angles, widths, depths and area, by the numbers of its pieces. */
export function profileRow(
  made: ProfileMade,
  scanner: ScannerAccuracy | undefined,
  limits: Readonly<Record<string, Limits>> | undefined,
): Row {
  const { profile, order, offered, warnings } = made;
  const number = (k: number) => order.indexOf(k) + 1;
  const byName = profileMeasures(profile).map((m) => readingOf(m, number, scanner));
  const readings = byName.sort((a, b) => kinds.indexOf(kindOf(a.name)) - kinds.indexOf(kindOf(b.name)));
  const judged = judge(readings, limits);
  const arcs = profile.pieces.filter(({ kind }) => kind === 'arc').length;
  const lines = profile.pieces.length - arcs;
  const tangencies = profile.constraints.filter(({ kind }) => kind === 'tangent').length;
  const heldWords = profile.constraints.filter(({ kind }) => kind !== 'tangent').map((c) => inWords(c, number));
  const offersInWords = offered
    .slice(0, TOLD)
    .map(({ constraint, cost }) => `${inWords(constraint, number)} (rms + ${(1000 * cost).toFixed(1)} µm)`);
  const used = profile.pieces.reduce((sum, p) => sum + p.to - p.from, 0);
  const squares = profile.pieces.reduce((sum, p) => sum + p.rms ** 2 * (p.to - p.from), 0);
  return {
    what:
      `${profile.closed ? 'closed' : 'open'} profile of ${counted(lines, 'line')} and ${counted(arcs, 'arc')}, ` +
      `${counted(tangencies, 'tangency', 'tangencies')}`,
    where: 'pieces counted counterclockwise from the one farthest left',
    values: judged.values,
    uncertainty: [
      `noise ${profile.noise.toFixed(3)} mm`,
      ...(profile.waves ? [wavesInWords(profile.waves)] : []),
      ...(heldWords.length > 0 ? [`held: ${together(heldWords)}`] : []),
      ...(offersInWords.length > 0
        ? [`the points do not speak against ${offersInWords.join(', ')}${offered.length > TOLD ? ' and others' : ''}`]
        : []),
    ].join('; '),
    rms: Math.sqrt(squares / used),
    used,
    warnings: [...warnings, ...judged.warnings, ...unknownLimits(readings, limits)],
  };
}

/** Matérn's covariance has fallen as far at this share of its length as the fits' at theirs: to exp(−1/2). */
const ALIKE = 0.86;

const wavesInWords = ({ height, length }: Waves): string =>
  `the surface waves by ${height.toFixed(3)} mm, alike over some ${(ALIKE * length).toFixed(1)} mm: ` +
  'departures as large as that are no pieces of their own, and each ± allows for them';

const kinds = ['radius', 'angle', 'width', 'depth', 'area'];
const kindOf = (name: string): string => name.split('-')[0]!;

function readingOf(m: ProfileMeasure, number: (k: number) => number, scanner: ScannerAccuracy | undefined): Reading {
  const name = [m.kind, ...m.pieces.map(number).sort((a, b) => a - b)].join('-');
  if (m.kind === 'area') return { name, value: m.value, unit: 'mm²', ends: fromZero };
  const isAngle = m.kind === 'angle';
  // Of an angle: how far the scanner may tilt the shorter of its sides. It has no scale to be wrong by.
  const bound = (scanner?.accuracy ?? 0) / (m.over ?? 1);
  const scale = isAngle ? 0 : scaleStandard(scanner) * m.value;
  const factor = isAngle ? inDegrees : 1;
  const uncertainty = COVERAGE * factor * Math.sqrt((m.standard ?? 0) ** 2 + bound ** 2 / 3 + scale ** 2);
  const ends = isAngle ? { min: 0, max: 180 } : fromZero;
  return { name, value: m.value * factor, unit: isAngle ? '°' : 'mm', uncertainty, ends };
}

function inWords({ kind, pieces }: Constraint, number: (k: number) => number): string {
  const [a, b] = pieces.map(number);
  if (b === undefined) return `piece ${a} ${kind}`;
  const words = { parallel: 'parallel to', square: 'square to', concentric: 'concentric with', tangent: 'tangent to' };
  return kind === 'equal-radius'
    ? `pieces ${a} and ${b} of one radius`
    : `piece ${a} ${words[kind as keyof typeof words]} ${b}`;
}

const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;

function unknownLimits(readings: readonly Reading[], limits: Readonly<Record<string, Limits>> = {}): Warning[] {
  return Object.keys(limits)
    .filter((name) => readings.every((r) => r.name !== name))
    .map((name) => ({
      code: 'limit-without-value',
      message: `The profile has no ${name}, so its limits say nothing. It has ${together(readings.map((r) => r.name))}.`,
    }));
}
