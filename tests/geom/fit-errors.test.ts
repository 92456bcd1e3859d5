import {
  type Cylinder,
  FettleError,
  fitCircle,
  fitCone,
  fitCylinder,
  fitEllipse,
  fitLine,
  fitPlane,
  fitSlot,
  fitSphere,
  seededRandom,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onCap, onCone, onFloor, pointsOf } from './fit-surfaces.js';

/** Code and message of what `work` throws; a failure of any other kind is not words a person can act on. */
function refusal(work: () => unknown): { code: string; message: string } {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return { code: error.code, message: error.message };
    throw error;
  }
  throw new Error('nothing was thrown');
}

const floor = { positions: pointsOf(60, onFloor(seededRandom(1), 40, 30, 0.02)) };
const edge = { positions: pointsOf(60, (i) => [0.01 * (i % 3), 0.01 * (i % 2), i]) };
const rim = { positions: pointsOf(60, aroundZ(seededRandom(2), 9, 360, 0, 0.02)) };
const bore = { positions: pointsOf(200, aroundZ(seededRandom(3), 9, 360, 20, 0.02)) };
const ball = { positions: pointsOf(200, onCap(seededRandom(4), 12, 300, 0.02)) };
const taper = { positions: pointsOf(200, onCone(seededRandom(5), 9, 20, 10, 0.02)) };

describe('known values a shape does not have', () => {
  test.each([
    ['plane', () => fitPlane(floor, { known: { radius: 3 } as never }), 'radius', 'Of a plane direction can be known'],
    ['line', () => fitLine(edge, { known: { radius: 3 } as never }), 'radius', 'Of a line direction can be known'],
    [
      'sphere',
      () => fitSphere(ball, { known: { direction: [0, 0, 1] } as never }),
      'direction',
      'Of a sphere radius can be known',
    ],
    [
      'cylinder',
      () => fitCylinder(bore, { known: { halfAngle: 0.2 } as never }),
      'halfAngle',
      'Of a cylinder radius and direction can be known',
    ],
    [
      'cone',
      () => fitCone(taper, { known: { radius: 3 } as never }),
      'radius',
      'Of a cone halfAngle and direction can be known',
    ],
  ])('%s', (kind, fit, name, takes) => {
    expect(refusal(fit)).toEqual({ code: 'bad-known', message: `A ${kind} has no ${name} to be known. ${takes}.` });
  });

  test('one that is left undefined is none', () => {
    expect(fitPlane(floor, { known: { radius: undefined } as never }).known).toBeUndefined();
  });

  test('a diameter, a misspelled name', () => {
    const takes = 'Of a cylinder radius and direction can be known.';
    expect(refusal(() => fitCylinder(bore, { known: { diameter: 3 } as never }))).toEqual({
      code: 'bad-known',
      message: `There is no known diameter. Give half of it as radius. ${takes}`,
    });
    expect(refusal(() => fitCylinder(bore, { known: { raduis: 3 } as never }))).toEqual({
      code: 'bad-known',
      message: `There is no known raduis. Did you mean radius? ${takes}`,
    });
  });
});

describe('options', () => {
  test('a misspelled one is not passed over', () => {
    expect(refusal(() => fitPlane(floor, { rejct: 3 } as never))).toEqual({
      code: 'bad-option',
      message:
        'Fitting a plane has no option rejct. Did you mean reject? It takes criterion, trim, reject, robust, initial, scanner, noise ' +
        'and known.',
    });
    for (const fit of [fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse])
      expect(refusal(() => fit(bore, { rejct: 3 } as never)).code).toBe('bad-option');
    expect(refusal(() => fitSlot(rim, { known: { radius: 3 } } as never)).message).toMatch(
      /^Fitting a slot has no option known\. /,
    );
  });

  test('a start of another kind', () => {
    const initial = fitCylinder(bore).feature;
    expect(refusal(() => fitPlane(floor, { initial: initial as never }))).toEqual({
      code: 'bad-option',
      message: 'initial is a cylinder: to fit a plane start from a plane, or leave it out.',
    });
    expect(refusal(() => fitEllipse(rim, { initial: initial as never })).message).toMatch(/start from an ellipse/);
    expect(refusal(() => fitCylinder(bore, { initial: {} as Cylinder })).message).toMatch(/^initial is no feature: /);
  });
});

describe('what a caller without type checks hands over', () => {
  test.each([
    ['yes', 'robust is yes: give true or false, or leave it out.'],
    [1, 'robust is 1: give true or false, or leave it out.'],
  ])('robust: %s', (robust, message) => {
    for (const fit of [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse])
      expect(refusal(() => fit(bore, { robust } as never))).toEqual({ code: 'bad-option', message });
  });

  test.each([
    [
      { accuracy: Number.NaN },
      "The scanner's accuracy is NaN: give the mm it may be off, 0 or more, or leave the scanner out.",
    ],
    [
      { accuracy: -0.1 },
      "The scanner's accuracy is -0.1: give the mm it may be off, 0 or more, or leave the scanner out.",
    ],
    [{}, "The scanner's accuracy is undefined: give the mm it may be off, 0 or more, or leave the scanner out."],
    [
      { accuracy: 0.02, perMeter: Number.POSITIVE_INFINITY },
      "The scanner's perMeter is Infinity: give the mm it may be off for each meter more, 0 or more, or leave the scanner out.",
    ],
    [{ accuracy: 0.02, perMetre: 0.03 }, "The scanner's perMetre is called perMeter: give { accuracy, perMeter }."],
    [0.02, 'scanner is 0.02: give { accuracy, perMeter }, both in mm.'],
  ])('scanner: %o', (scanner, message) => {
    for (const fit of [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse])
      expect(refusal(() => fit(bore, { scanner } as never))).toEqual({ code: 'bad-option', message });
  });

  test('normals of other points', () => {
    for (const fit of [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse])
      expect(refusal(() => fit({ ...bore, normals: new Float32Array(3 * 60) }))).toEqual({
        code: 'normals-length',
        message:
          '180 numbers are no normals of 200 points: give x, y and z of one for each point of positions, selected or not, or ' +
          'leave them out.',
      });
    expect(refusal(() => fitPlane({ ...floor, normals: [0, 0, 1] as never }))).toEqual({
      code: 'bad-points',
      message:
        'There is nothing to fit a plane to: normals is of type Array. Give x, y and z of one for each point in a Float32Array.',
    });
  });
});

describe('points on few places', () => {
  const spots = (places: number, count: number) => {
    const at = [[0, 0, 0] as const, [5, 1, 0] as const, [0, 3, 2] as const];
    return { positions: pointsOf(count, (i) => at[i % places]) };
  };

  test('four points on any straight line hold no circle and no sphere', () => {
    const random = seededRandom(6);
    for (let k = 0; k < 200; k++) {
      const [a, b, c] =
        k < 4
          ? [
              [1, 0, 0],
              [0, 1, 0],
              [0, 0, 1],
              [1, 1, 1],
            ][k]
          : [0, 1, 2].map(() => random.normal());
      const positions = Float64Array.from({ length: 12 }, (_, i) => [a, b, c][i % 3] * Math.floor(i / 3));
      for (const fit of [fitCircle, fitSphere])
        expect(refusal(() => fit({ positions })).code).toMatch(/^(radius|fit)-undetermined$/);
    }
  });

  test('copies of two or three points determine no sphere and no cylinder, however they are fitted', () => {
    for (const options of [{}, { robust: true }, { reject: 3 }]) {
      for (const fit of [fitSphere, fitCylinder])
        for (const places of [2, 3])
          for (const count of [6, 40]) {
            const { code, message } = refusal(() => fit(spots(places, count), options));
            expect(code).toMatch(/^(radius-undetermined|fit-undetermined|points-coincide)$/);
            expect(message).toMatch(/(Choose a region|Fit a plane)/);
          }
    }
  });
});

describe('coordinates no scan in millimeters has', () => {
  const scaled = (factor: number) => ({ positions: bore.positions.map((c) => c * factor) });
  const all = [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse];

  test.each([1e9, 1e120, 1e150, 1e200, 1e300])('%s times too large', (factor) => {
    for (const fit of all)
      for (const options of [{}, { reject: 3 }]) {
        const { code, message } = refusal(() => fit(scaled(factor), options));
        expect(code).toBe('points-too-large');
        expect(message).toMatch(
          /^Point \d+ \(.+\) lies beyond 1,000,000,000 mm\. Coordinates are in mm: read the scan with the units/,
        );
      }
  });

  test('one garbled point among good ones is named', () => {
    const positions = bore.positions.slice();
    positions[3 * 17 + 2] = -3e38;
    expect(refusal(() => fitCylinder({ positions })).message).toMatch(/^Point 17 \(.*-3e\+38\) lies beyond/);
    const select = Uint32Array.of(5, 9, 17, 30, 44, 90);
    expect(refusal(() => fitPlane({ positions, select })).message).toMatch(/^Point 17 /);
  });

  test.each([1e-12, 1e-60, 1e-160, 1e-200])('%s times too small', (factor) => {
    for (const fit of all)
      expect(refusal(() => fit(scaled(factor)))).toEqual({
        code: 'points-too-small',
        message:
          'All 200 points lie within 1e-9 mm of each other. Coordinates are in mm: read the scan with the units it was written in.',
      });
  });

  test('a kilometer from zero, a micrometer wide: that is a scan', () => {
    expect(fitCylinder(scaled(1e-4)).feature.radius).toBeCloseTo(9e-4, 5);
    const far = { positions: bore.positions.map((c, i) => (i % 3 === 0 ? c + 1e6 : c)) };
    expect(fitCylinder(far).feature.radius).toBeCloseTo(9, 1);
  });
});

describe('what is handed over without type checks', () => {
  const give = 'Give a scan, or { positions } with x, y and z of each point in a Float64Array, mm.';
  test.each([
    [undefined, 'the points are undefined', give],
    [null, 'the points are null', give],
    [{}, 'positions is undefined', give],
    [{ positions: [0, 0, 0, 1, 1, 1, 2, 0, 2] }, 'positions is of type Array', give],
    [{ positions: new Float32Array(9) }, 'positions is of type Float32Array', give],
    [{ ...floor, select: [0, 1, 2, 3] }, 'select is of type Array', 'Give the indices of the points in a Uint32Array.'],
  ])('%o', (points, why, next) => {
    for (const [kind, fit] of [
      ['plane', fitPlane],
      ['cylinder', fitCylinder],
      ['slot', fitSlot],
    ] as const)
      expect(refusal(() => fit(points as never))).toEqual({
        code: 'bad-points',
        message: `There is nothing to fit a ${kind} to: ${why}. ${next}`,
      });
  });
});

describe('criteria', () => {
  const others = ['minimum-zone', 'maximum-inscribed', 'minimum-circumscribed'] as const;

  test('those a shape has are told, least squares among them', () => {
    expect(refusal(() => fitSphere(ball, { criterion: 'maximum-inscribed' }))).toEqual({
      code: 'bad-option',
      message: 'A sphere cannot be fitted by maximum-inscribed. Fit a sphere by least-squares or minimum-zone.',
    });
    expect(refusal(() => fitCircle(rim, { criterion: 'minimum-zones' as 'minimum-zone' })).message).toBe(
      'There is no criterion minimum-zones. Did you mean minimum-zone? ' +
        'Fit a circle by least-squares, minimum-zone, maximum-inscribed or minimum-circumscribed.',
    );
  });

  test('exact points are at the optimum: what is left is rounding', () => {
    for (const [size, move] of [
      [1, 0],
      [9, 0],
      [9, 1e5],
      [400, 30],
    ] as const) {
      const positions = Float64Array.from({ length: 180 }, (_, i) => {
        const turn = (2 * Math.PI * Math.floor(i / 3)) / 60;
        return move + [size * Math.cos(turn), size * Math.sin(turn), 0][i % 3];
      });
      for (const criterion of others) {
        const { converged, warnings, feature } = fitCircle({ positions }, { criterion });
        expect(warnings).toEqual([]);
        expect(converged).toBe(true);
        expect(feature.radius / size).toBeCloseTo(1, 9);
      }
    }
  });
});

describe('radii an arc tells poorly', () => {
  const arcOf = (degrees: number, noise: number) => ({
    positions: pointsOf(3000, aroundZ(seededRandom(7), 9, degrees, 20, noise)),
  });

  test('a quarter turn with little noise tells its radius, only less well than the full circle would', () => {
    const { warnings, feature } = fitCylinder(arcOf(90, 0.02));
    expect(warnings.map(({ code }) => code)).toEqual(['weak-radius']);
    const said = warnings[0].message.match(
      /^A 90° arc tells the radius (\d+(?:\.\d)?) times less well than the full circle would: (\S+) ± (\S+) mm \(k = 2\)\. /,
    );
    // Analytic: for angles even over ±h, var(r̂) = σ²/n · 1/(1 − sinc²h / (½ + sin2h/4h)): 10.28 times σ/√n at h = 45°.
    expect(Number(said![1])).toBeCloseTo(10.28, 0);
    expect(Math.abs(Number(said![2]) - feature.radius)).toBeLessThan(Number(said![3]) / 10);
    expect(Number(said![3]) / ((2 * 10.28 * 0.02) / Math.sqrt(3000))).toBeGreaterThan(0.8);
    expect(Number(said![3]) / ((2 * 10.28 * 0.02) / Math.sqrt(3000))).toBeLessThan(2);
  });

  test('exact points, and points so good that nobody is harmed, need no warning', () => {
    expect(fitCylinder(arcOf(90, 0)).warnings).toEqual([]);
    expect(fitCylinder(arcOf(60, 1e-4)).warnings).toEqual([]);
  });

  test('a 40° arc does not carry a radius, and it is said by how much', () => {
    const { warnings, feature } = fitCylinder(arcOf(40, 0.05));
    const said = warnings[0].message.match(
      /^A 40° arc does not carry a radius: (\S+) ± (\S+) mm \(k = 2\), (\d+) times as uncertain as from the full circle\. Give the radius by hand/,
    );
    // The same closed form at h = 20°: 54.4 times, and twice that times σ/√n to either side; a scan of white noise gives a little more.
    const h = (20 * Math.PI) / 180;
    const sinc = Math.sin(h) / h;
    const times = 1 / Math.sqrt(1 - sinc ** 2 / (0.5 + Math.sin(2 * h) / (4 * h)));
    expect(times).toBeCloseTo(54.4, 1);
    expect(Math.abs(Number(said![3]) - times)).toBeLessThan(0.05 * times);
    expect(Number(said![1])).toBeCloseTo(feature.radius, 1);
    expect(Number(said![2]) / ((2 * times * 0.05) / Math.sqrt(3000))).toBeGreaterThan(0.8);
    expect(Number(said![2]) / ((2 * times * 0.05) / Math.sqrt(3000))).toBeLessThan(2);
    expect(Math.abs(feature.radius - 9)).toBeLessThan(2 * Number(said![2]));
  });

  test('past one part in a hundred the arc carries none', () => {
    const [warning] = fitCylinder(arcOf(30, 0.05)).warnings;
    expect(warning.message).toMatch(
      /^A (29|30|31)° arc does not carry a radius: \S+ ± 0\.\d+ mm \(k = 2\), \d+ times as uncertain/,
    );
  });
});

describe('a start by hand', () => {
  const start = fitCylinder(bore).feature;
  test.each([
    [{ ...start, radius: Number.NaN }, 'radius is NaN'],
    [{ ...start, point: [Number.NaN, 0, 0] }, 'point is (NaN, 0, 0)'],
    [{ ...start, direction: [0, 0, 0] }, 'direction is (0, 0, 0)'],
    [{ kind: 'cylinder' }, 'point is undefined'],
  ])('%o is not passed on', (initial, why) => {
    expect(refusal(() => fitCylinder(bore, { initial: initial as never }))).toEqual({
      code: 'bad-option',
      message:
        `initial cannot be a start: its ${why}. A cylinder is told by point, direction and radius, finite, ` +
        'directions not all 0.',
    });
  });

  test('half a slot, half an ellipse', () => {
    expect(refusal(() => fitSlot(rim, { initial: { kind: 'slot', center: [0, 0, 0] } as never })).message).toMatch(
      /its normal is undefined\. A slot is told by center, normal, direction, length and width/,
    );
    expect(
      refusal(() => fitEllipse(rim, { initial: { kind: 'ellipse', center: [0, 0, 0] } as never })).message,
    ).toMatch(/An ellipse is told by/);
  });

  test('planes and directions that are none', () => {
    expect(refusal(() => fitCircle(rim, { plane: {} as never }))).toEqual({
      code: 'bad-known',
      message:
        'The plane to fit a circle in cannot be used: its point is undefined, its normal undefined. ' +
        'Give a finite point and a normal that is not all 0.',
    });
    expect(refusal(() => fitSlot(rim, { plane: {} as never })).code).toBe('bad-option');
    expect(refusal(() => fitCylinder(bore, { known: { direction: 'z' as never } })).message).toBe(
      'The known direction cannot be used: it is z. Give three finite numbers, not all 0.',
    );
    expect(refusal(() => fitCylinder(bore, null as never)).code).toBe('bad-option');
  });
});
