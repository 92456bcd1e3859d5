import { type Profile, profileOf } from '@fettle/geom';
import { arc, line, type Piece, polygon, rounded, roundedRectangle, sectionOf } from '../../geom/outlines.js';
import { inMs, milliseconds, type Row, type Task } from '../task.js';

type Corner = readonly [x: number, y: number];

/** A counterclockwise outline; every piece is longer than 3 mm. */
interface Case {
  readonly name: string;
  readonly pieces: readonly Piece[];
  readonly arcs: number;
  /** Of all its arcs, mm. */
  readonly radius?: number;
  /** Where its sides meet, and how far it turns there, radians. */
  readonly corners?: readonly Corner[];
  readonly turn?: number;
}

const hexagon = (side: number): Corner[] =>
  [0, 1, 2, 3, 4, 5].map((k) => [side * Math.cos((k * Math.PI) / 3), side * Math.sin((k * Math.PI) / 3)]);
const chamfered: Corner[] = [
  [3, 0],
  [37, 0],
  [40, 3],
  [40, 17],
  [37, 20],
  [3, 20],
  [0, 17],
  [0, 3],
];
const angle: Corner[] = [
  [0, 0],
  [40, 0],
  [40, 10],
  [10, 10],
  [10, 40],
  [0, 40],
];
const half = Math.asin(2 / 12);
const mouth = 12 * Math.cos(half);

const cases: readonly Case[] = [
  { name: 'plate, fillets of 2.2 mm', pieces: roundedRectangle(60, 40, 2.2), arcs: 4, radius: 2.2 },
  { name: 'plate, fillets of 8 mm', pieces: roundedRectangle(60, 40, 8), arcs: 4, radius: 8 },
  {
    name: 'slot of 40 × 10',
    pieces: [line(5, 0, 35, 0), arc(35, 5, 5, -90, 90), line(35, 10, 5, 10), arc(5, 5, 5, 90, 270)],
    arcs: 2,
    radius: 5,
  },
  { name: 'hexagon of 12 mm sides, fillets of 3.5 mm', pieces: rounded(hexagon(12), 3.5), arcs: 6, radius: 3.5 },
  { name: 'disc of 40 mm', pieces: [arc(0, 0, 20, 0, 360)], arcs: 1, radius: 20 },
  {
    name: 'bore of 24 mm with a keyway of 4 mm',
    pieces: [
      arc(0, 0, 12, (half * 180) / Math.PI, 360 - (half * 180) / Math.PI),
      line(mouth, -2, mouth - 4, -2),
      line(mouth - 4, -2, mouth - 4, 2),
      line(mouth - 4, 2, mouth, 2),
    ],
    arcs: 1,
    radius: 12,
  },
  { name: 'hexagon of 12 mm sides', pieces: polygon(hexagon(12)), arcs: 0, corners: hexagon(12), turn: Math.PI / 3 },
  { name: 'hexagon of 4 mm sides', pieces: polygon(hexagon(4)), arcs: 0, corners: hexagon(4), turn: Math.PI / 3 },
  { name: 'plate, chamfers of 3 × 45°', pieces: polygon(chamfered), arcs: 0, corners: chamfered, turn: Math.PI / 4 },
  { name: 'angle section of 40 × 10', pieces: polygon(angle), arcs: 0, corners: angle, turn: Math.PI / 2 },
];

const DRAWS = 1000;

/** Of each outline in waves: each draw is tried with several waves, and takes longer. */
const WAVY_DRAWS = 100;

/** Standard deviations and lengths of waves, mm, beside white noise of 0.02 mm. */
const swells = [
  { waves: 0.05, alike: 2 },
  { waves: 0.1, alike: 1 },
  { waves: 0.1, alike: 2 },
  { waves: 0.1, alike: 4 },
  { waves: 0.15, alike: 3 },
] as const;

const wavyCases: readonly Case[] = [
  { name: 'plate of 60 × 40, fillets of 8 mm', pieces: roundedRectangle(60, 40, 8), arcs: 4, radius: 8 },
  { name: 'plate of 100 × 70, fillets of 12 mm', pieces: roundedRectangle(100, 70, 12), arcs: 4, radius: 12 },
  {
    name: 'angle section of 40 × 10',
    pieces: polygon(angle),
    arcs: 0,
    corners: angle,
    turn: Math.PI / 2,
  },
];

/** Counts of what lies inside what is stated for 95 %. */
class Share {
  inside = 0;
  all = 0;
  count(isInside: boolean): void {
    this.all++;
    if (isInside) this.inside++;
  }
  row(what: string): Row {
    const share = (100 * this.inside) / this.all;
    return { what, ours: `${share.toFixed(1)} %`, bound: '93 to 97 %', held: share >= 93 && share <= 97 };
  }
}

function countJoins(profile: Profile, truth: readonly Corner[], turn: number, places: Share, turns: Share): void {
  for (const join of profile.joins) {
    const { at, positionCovariance } = join;
    const far = ([x, y]: Corner) => Math.hypot(x - at[0], y - at[1]);
    const [x, y] = truth.reduce((best, c) => (far(c) < far(best) ? c : best));
    const [xx, xy, yy] = positionCovariance ?? [0, 0, 0];
    const [dx, dy] = [at[0] - x, at[1] - y];
    // The ellipse that holds 95 %: χ² of two freedoms.
    places.count((dx * dx * yy - 2 * dx * dy * xy + dy * dy * xx) / (xx * yy - xy * xy) <= 5.991);
    turns.count(Math.abs(Math.abs(join.turn) - turn) <= 1.96 * join.turnUncertainty);
  }
}

export const task: Task = {
  title: `Profiles: pieces found in noise of 0.05 mm at 0.2 mm spacing, ${DRAWS.toLocaleString('en-US')} draws each, and speed`,
  long: true,
  async run() {
    const rows: Row[] = [];
    for (const { name, pieces, arcs, radius, corners, turn } of cases) {
      let right = 0;
      const [radii, places, turns] = [new Share(), new Share(), new Share()];
      for (let seed = 1; seed <= DRAWS; seed++) {
        const profile = profileOf(sectionOf(pieces, { noise: 0.05, seed, offset: 1.7 * seed }));
        const found = profile.pieces.filter((p) => p.kind === 'arc');
        if (profile.pieces.length !== pieces.length || found.length !== arcs) continue;
        right++;
        for (const { shape } of found)
          radii.count(
            Math.abs((shape as { radius: number }).radius - radius!) <= 1.96 * Math.sqrt(shape.covariance[8]),
          );
        if (corners) countJoins(profile, corners, turn!, places, turns);
      }
      const share = (100 * right) / DRAWS;
      rows.push({
        what: `${name}: ${pieces.length} ${pieces.length === 1 ? 'piece' : 'pieces'} found, lines and arcs told apart`,
        ours: `${share.toFixed(1)} %`,
        bound: 'at least 99 %',
        held: share >= 99,
      });
      if (radius) rows.push(radii.row(`${name}: radii inside their stated 95 %`));
      if (corners)
        rows.push(places.row(`${name}: corners inside their stated 95 %`), turns.row(`${name}: angles inside theirs`));
    }
    for (const { waves, alike } of swells)
      for (const { name, pieces, arcs, radius, corners, turn } of wavyCases) {
        let right = 0;
        const [radii, places, turns] = [new Share(), new Share(), new Share()];
        for (let seed = 1; seed <= WAVY_DRAWS; seed++) {
          const profile = profileOf(sectionOf(pieces, { noise: 0.02, waves, alike, seed, offset: 1.7 * seed }));
          const found = profile.pieces.filter((p) => p.kind === 'arc');
          if (profile.pieces.length !== pieces.length || found.length !== arcs) continue;
          right++;
          for (const { shape } of found)
            radii.count(
              Math.abs((shape as { radius: number }).radius - radius!) <= 1.96 * Math.sqrt(shape.covariance[8]),
            );
          if (corners) countJoins(profile, corners, turn!, places, turns);
        }
        const which = `${name}, waves of ${waves} mm alike over ${alike} mm`;
        const share = (100 * right) / WAVY_DRAWS;
        rows.push({
          what: `${which}: ${pieces.length} pieces found, no tolerance given`,
          ours: `${share.toFixed(0)} %`,
          bound: 'at least 80 %',
          held: share >= 80,
        });
        if (radius) rows.push(radii.row(`${which}: radii inside their stated 95 %`));
        if (corners)
          rows.push(
            places.row(`${which}: corners inside their stated 95 %`),
            turns.row(`${which}: angles inside theirs`),
          );
      }
    const big = sectionOf(roundedRectangle(1200, 806, 5), { noise: 0.05, seed: 3 });
    const ms = await milliseconds(() => profileOf(big), 5);
    rows.push({
      what: `a section of ${(big.polylines[0].flat.length / 2).toLocaleString('en-US')} points into a profile`,
      ours: inMs(ms),
      bound: 'under 300 ms',
      held: ms < 300,
    });
    return rows;
  },
};
