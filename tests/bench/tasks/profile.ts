import { profileOf } from '@fettle/geom';
import { arc, line, type Piece, rounded, roundedRectangle, sectionOf } from '../../geom/outlines.js';
import { inMs, milliseconds, type Row, type Task } from '../task.js';

/** Counterclockwise outlines with the number of pieces each has; every piece is longer than 3 mm. */
const outlines: readonly { readonly name: string; readonly pieces: readonly Piece[] }[] = [
  { name: 'plate, fillets of 2.2 mm', pieces: roundedRectangle(60, 40, 2.2) },
  { name: 'plate, fillets of 8 mm', pieces: roundedRectangle(60, 40, 8) },
  {
    name: 'slot of 30 × 10',
    pieces: [line(5, 0, 35, 0), arc(35, 5, 5, -90, 90), line(35, 10, 5, 10), arc(5, 5, 5, 90, 270)],
  },
  {
    name: 'hexagon of 12 mm sides, fillets of 3.5 mm',
    pieces: rounded(
      [0, 1, 2, 3, 4, 5].map((k) => [12 * Math.cos((k * Math.PI) / 3), 12 * Math.sin((k * Math.PI) / 3)] as const),
      3.5,
    ),
  },
  { name: 'disc of 40 mm', pieces: [arc(0, 0, 20, 0, 360)] },
];

const DRAWS = 1000;

export const task: Task = {
  title: 'Profiles: pieces found in noise of 0.05 mm at 0.2 mm spacing, and speed',
  long: true,
  async run() {
    const rows: Row[] = [];
    for (const { name, pieces } of outlines) {
      let right = 0;
      let inside = 0;
      let radii = 0;
      const arcs = pieces.length === 1 ? 1 : undefined;
      for (let seed = 1; seed <= DRAWS; seed++) {
        const profile = profileOf(sectionOf(pieces, { noise: 0.05, seed, offset: 1.7 * seed }));
        if (profile.pieces.length === pieces.length) right++;
        const truth = radiusOf(name);
        for (const piece of profile.pieces) {
          if (piece.kind !== 'arc' || profile.pieces.length !== pieces.length) continue;
          radii++;
          if (Math.abs(piece.shape.radius - truth) <= 1.96 * Math.sqrt(piece.shape.covariance[8])) inside++;
        }
      }
      const share = (100 * right) / DRAWS;
      rows.push({
        what: `${name}: ${arcs ?? pieces.length} piece${arcs ? '' : 's'} found`,
        ours: `${share.toFixed(1)} %`,
        bound: 'at least 99 %',
        held: share >= 99,
      });
      const covered = (100 * inside) / radii;
      rows.push({
        what: `${name}: radii inside their stated 95 %`,
        ours: `${covered.toFixed(1)} %`,
        bound: '93 to 97 %',
        held: covered >= 93 && covered <= 97,
      });
    }
    const big = sectionOf(roundedRectangle(1200, 806, 5), { noise: 0.05, seed: 3 });
    const ms = await milliseconds(() => profileOf(big), 3);
    rows.push({
      what: `a section of ${(big.polylines[0].flat.length / 2).toLocaleString('en-US')} points into a profile`,
      ours: inMs(ms),
      bound: 'under 300 ms',
      held: ms < 300,
    });
    return rows;
  },
};

const radiusOf = (name: string): number =>
  name.includes('2.2')
    ? 2.2
    : name.includes('8 mm')
      ? 8
      : name.startsWith('slot')
        ? 5
        : name.startsWith('hex')
          ? 3.5
          : 20;
