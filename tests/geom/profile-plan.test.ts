import { checkPlan, createScan, resultsToJson, runPlan, type Scan, seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';
import { type Piece, polygon, roundedRectangle } from './outlines.js';

/** A bar of an outline, upright: points every 0.2 mm around and every 0.4 mm up, each off by normal noise across. */
function bar(pieces: readonly Piece[], noise: number): Scan {
  const random = seededRandom(5);
  const total = pieces.reduce((sum, [long]) => sum + long, 0);
  const n = Math.round(total / 0.2);
  const rows = 11;
  const positions = new Float64Array(3 * n * rows);
  const triangles: number[] = [];
  for (let r = 0; r < rows; r++)
    for (let i = 0; i < n; i++) {
      let t = ((i + (r % 2 ? 0.5 : 0)) * total) / n;
      let k = 0;
      while (k < pieces.length - 1 && t >= pieces[k]![0]) t -= pieces[k++]![0];
      const [x, y, nx, ny] = pieces[k]![1](t);
      const off = noise * random.normal();
      positions.set([x + off * nx, y + off * ny, 0.4 * (r - 5)], 3 * (r * n + i));
      if (r === 0) continue;
      const [a, b, c, d] = [(r - 1) * n + i, (r - 1) * n + ((i + 1) % n), r * n + i, r * n + ((i + 1) % n)];
      triangles.push(a, b, d, a, d, c);
    }
  return createScan({ positions, triangles: Uint32Array.from(triangles), name: 'bar' });
}

const planOf = (profile: object) => ({
  version: 1,
  title: 'Bar',
  scanner: { accuracy: 0.01 },
  steps: [{ step: 'section', id: 'cut', axis: 'z', at: 0.1, profile }],
});

const plate = bar(roundedRectangle(60, 40, 5), 0.02);
const run = (scan: Scan, profile: object) => runPlan(checkPlan(planOf(profile)), scan);

test('a section step that asks for its profile has a row with radii, widths and area, all true within their ±', () => {
  const { sheet, outcomes } = run(plate, {});
  const [row] = sheet;
  expect(row!.what).toBe('closed profile of 4 lines and 4 arcs, 8 tangencies');
  const values = new Map(row!.values.map((v) => [v.name, v]));
  // Counted counterclockwise from the left side, which runs down.
  expect([...values.keys()].sort()).toEqual(
    ['area', 'radius-2', 'radius-4', 'radius-6', 'radius-8', 'width-1-5', 'width-3-7'].sort(),
  );
  const truth = { 'radius-2': 5, 'radius-4': 5, 'radius-6': 5, 'radius-8': 5, 'width-1-5': 60, 'width-3-7': 40 };
  for (const [name, value] of Object.entries(truth)) {
    const found = values.get(name)!;
    expect(Math.abs(found.value - value), name).toBeLessThan(1.5 * found.uncertainty!);
    // The scanner's ± 0.01 mm alone is 1.96 × 0.01 / √3.
    expect(found.uncertainty).toBeGreaterThan(0.0113);
  }
  expect(values.get('area')).toMatchObject({ unit: 'mm²' });
  expect(values.get('area')!.value / (60 * 40 - (4 - Math.PI) * 25)).toBeCloseTo(1, 3);
  const [cut] = outcomes;
  if (cut!.kind !== 'section' || !cut.profile) throw new Error('a profile expected');
  expect(cut.profile.profile.closed).toBe(true);
});

test('what the plan holds holds exactly; what it does not is offered with its cost', () => {
  const hold = ['parallel', 'square', 'equal-radius', 'horizontal'];
  const { outcomes, sheet } = run(plate, { hold });
  const [cut] = outcomes;
  if (cut!.kind !== 'section' || !cut.profile) throw new Error('a profile expected');
  const radii = cut.profile.profile.pieces.flatMap((p) => (p.kind === 'arc' ? [p.shape.radius] : []));
  for (const r of radii) expect(r).toBeCloseTo(radii[0]!, 8);
  for (const p of cut.profile.profile.pieces)
    if (p.kind === 'line') expect(Math.abs(p.shape.direction[0] * p.shape.direction[1])).toBeLessThan(1e-8);
  expect(sheet[0]!.uncertainty).toMatch(/held: .*parallel to.*and/);
  const free = run(plate, {}).sheet[0]!.uncertainty;
  expect(free).toMatch(/the points do not speak against .*\(rms \+ \d+\.\d µm\)/);
});

test('pieces are named by places on them, and picked by hand', () => {
  const l = bar(
    polygon([
      [0, 0],
      [40, 0],
      [40, 10],
      [10, 10],
      [10, 40],
      [0, 40],
    ]),
    0.02,
  );
  const { outcomes, sheet } = run(l, {
    pieces: [{ from: [3, 0, 0], to: [37, 0, 0], as: 'line' }],
    hold: [
      {
        make: 'square',
        at: [
          [20, 0, 0],
          [0, 20, 0],
        ],
      },
    ],
    limits: { 'width-2-4': { min: 9.9, max: 10.1 } },
  });
  const [cut] = outcomes;
  if (cut!.kind !== 'section' || !cut.profile) throw new Error('a profile expected');
  const { profile } = cut.profile;
  expect(profile.pieces.filter((p) => p.byHand === 0)).toHaveLength(1);
  const square = profile.constraints.find(({ kind }) => kind === 'square')!;
  const [a, b] = square.pieces.map((k) => profile.pieces[k]!.shape);
  if (a?.kind !== 'line' || b?.kind !== 'line') throw new Error('lines expected');
  expect(a.direction[0] * b.direction[0] + a.direction[1] * b.direction[1]).toBeCloseTo(0, 9);
  expect(sheet[0]!.values.find((v) => v.name === 'width-2-4')?.verdict).toBe('within');
  const turns = sheet[0]!.values.filter((v) => v.name.startsWith('angle'));
  expect(turns).toHaveLength(6);
  for (const { value, uncertainty } of turns) expect(Math.abs(value - 90)).toBeLessThan(2 * uncertainty!);
});

test('limits on values the profile has not are warned of; a section without lines is refused', () => {
  const { sheet } = run(plate, { limits: { 'radius-3': { max: 6 } } });
  expect(sheet[0]!.warnings.map((w) => w.code)).toEqual(['limit-without-value']);
  expect(sheet[0]!.warnings[0]!.message).toContain('The profile has no radius-3');
  const plan = { ...planOf({}), steps: [{ step: 'section', id: 'cut', axis: 'z', at: 99, profile: {} }] };
  expect(() => runPlan(checkPlan(plan), plate)).toThrow(/^cut: /);
});

test.each([
  [{ hold: ['round'] }, /profile\.hold/],
  [{ hold: [{ make: 'square', at: [[0, 0, 0]] }] }, /one place for horizontal and vertical, two for the others/],
  [{ pieces: [{ from: [0, 0, 0], to: [1, 0, 0], as: 'curve' }] }, /profile\.pieces\[?\.?0/],
  [{ in: 'nothing' }, /profile\.in/],
  [{ tolerance: 0 }, /profile\.tolerance/],
])('%j is refused by the check of the plan', (profile, message) => {
  expect(() => checkPlan(planOf(profile))).toThrow(message);
});

test('results as JSON hold the profile in scan axes, its pieces numbered as on the job sheet', () => {
  const { profiles } = resultsToJson(run(plate, {}));
  const [{ id, pieces, area, closed }] = profiles! as [NonNullable<typeof profiles>[number]];
  expect({ id, closed, count: pieces.length }).toEqual({ id: 'cut', closed: true, count: 8 });
  expect(pieces.map((p) => p.kind)).toEqual(['line', 'arc', 'line', 'arc', 'line', 'arc', 'line', 'arc']);
  expect(pieces[1]!.center![0]).toBeCloseTo(5, 1);
  expect(pieces[1]!.center![2]).toBeCloseTo(0.1, 9);
  expect(area).toBeGreaterThan(2300);
});
