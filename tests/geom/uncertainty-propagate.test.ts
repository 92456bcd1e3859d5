import {
  angleOf,
  certain,
  datumFrame,
  derive,
  distanceOf,
  type Estimate,
  expanded,
  expandedNumber,
  type Feature,
  type Frame,
  intersectLinePlane,
  intersectPlanes,
  intersectThreePlanes,
  type Line,
  moved,
  moveOf,
  type Plane,
  propagate,
  type Random,
  rootOf,
  seededRandom,
  type Uncertainty,
  uncertaintyOf,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';

const unit = (v: Vec3): Vec3 => {
  const l = Math.hypot(...v);
  return [v[0] / l, v[1] / l, v[2] / l];
};

/** Two directions square to w and to each other. */
function square(w: Vec3): readonly [Vec3, Vec3, Vec3] {
  const u = unit(Math.abs(w[0]) < 0.9 ? [0, w[2], -w[1]] : [-w[2], 0, w[0]]);
  return [u, [w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0]], w];
}

/** A covariance with the given standard deviations, neighbors in the list correlated by 0.4. */
const covarianceOf = (standards: readonly number[]): Float64Array =>
  Float64Array.from({ length: standards.length ** 2 }, (_, k) => {
    const i = Math.floor(k / standards.length);
    const j = k % standards.length;
    return standards[i] * standards[j] * (i === j ? 1 : Math.abs(i - j) === 1 ? 0.4 : 0);
  });

const about = (
  kind: Uncertainty['kind'],
  at: Vec3,
  w: Vec3,
  standards: readonly number[],
  degreesOfFreedom = Number.POSITIVE_INFINITY,
): Uncertainty => ({ kind, at, axes: square(w), covariance: covarianceOf(standards), degreesOfFreedom, reach: 30 });

const plane = (point: Vec3, direction: Vec3, standards = [0.01, 4e-4, 3e-4]): Estimate<Plane> => {
  const normal = unit(direction);
  return { feature: { kind: 'plane', point, normal }, uncertainty: about('plane', point, normal, standards, 20) };
};
const line = (point: Vec3, along: Vec3): Estimate<Line> => {
  const direction = unit(along);
  return {
    feature: { kind: 'line', point, direction },
    uncertainty: about('line', point, direction, [0.02, 0.015, 5e-4, 6e-4], 12),
  };
};

const top = plane([10, 20, 5], [0.02, -0.01, 1]);
const front = plane([0, -30, -10], [0.05, -1, 0.06]);
const side = plane([-40, 5, -12], [-1, 0.08, 0.03]);
const bore = line([12, 14, 0], [0.03, 0.02, 1]);

/** Draws of features by their own uncertainty: the lower Cholesky factor of the covariance on standard normal numbers. */
function drawn<F extends Feature>({ feature, uncertainty }: Estimate<F>, random: Random): F {
  const { covariance } = uncertainty;
  const m = Math.sqrt(covariance.length);
  const lower = new Float64Array(m * m);
  for (let j = 0; j < m; j++) {
    for (let i = j; i < m; i++) {
      let s = covariance[i * m + j];
      for (let k = 0; k < j; k++) s -= lower[i * m + k] * lower[j * m + k];
      lower[i * m + j] = i === j ? Math.sqrt(s) : s / lower[j * m + j];
    }
  }
  const z = Array.from({ length: m }, () => random.normal());
  return moved(
    feature,
    uncertainty,
    z.map((_, i) => z.reduce((sum, x, k) => (k <= i ? sum + lower[i * m + k] * x : sum), 0)),
  );
}

const DRAWS = 20_000;

/** Covariance by brute force: of coordinates told afresh for each draw. */
function monteCarlo<A extends readonly Feature[]>(
  inputs: { readonly [K in keyof A]: Estimate<A[K]> },
  coordinates: (...features: A) => readonly number[],
): number[][] {
  const random = seededRandom(7);
  const rows = Array.from({ length: DRAWS }, () =>
    coordinates(...((inputs as readonly Estimate[]).map((input) => drawn(input, random)) as unknown as A)),
  );
  const m = rows[0].length;
  const mean = Array.from({ length: m }, (_, i) => rows.reduce((s, r) => s + r[i], 0) / DRAWS);
  return mean.map((a, i) => mean.map((b, j) => rows.reduce((s, r) => s + (r[i] - a) * (r[j] - b), 0) / (DRAWS - 1)));
}

/** Standard deviations of DRAWS draws are right to 1/√(2·DRAWS) = 0.5 %: 2.5 % is five times that. Correlations: to 5/√DRAWS. */
function expectSame(covariance: Float64Array, brute: number[][]): void {
  const m = brute.length;
  for (let i = 0; i < m; i++) {
    const own = Math.sqrt(covariance[i * (m + 1)]);
    expect(Math.abs(own / Math.sqrt(brute[i][i]) - 1)).toBeLessThan(0.025);
    for (let j = 0; j < i; j++) {
      const correlation = covariance[i * m + j] / (own * Math.sqrt(covariance[j * (m + 1)]));
      const drawnCorrelation = brute[i][j] / Math.sqrt(brute[i][i] * brute[j][j]);
      expect(Math.abs(correlation - drawnCorrelation)).toBeLessThan(0.04);
    }
  }
}

describe('first-order propagation agrees with 20,000 draws', () => {
  it('for the line where two planes meet', () => {
    const meet = (a: Plane, b: Plane): Line => intersectPlanes(a, b).feature;
    const { value, uncertainty } = propagate(meet, [top, front]);
    expectSame(
      uncertainty.covariance,
      monteCarlo<[Plane, Plane]>([top, front], (a, b) => moveOf(meet(a, b), uncertainty, value)),
    );
  });

  it('for the point where three planes meet', () => {
    const { uncertainty } = propagate(
      (a: Plane, b: Plane, c: Plane) => intersectThreePlanes(a, b, c).feature,
      [top, front, side],
    );
    expectSame(
      uncertainty.covariance,
      monteCarlo<[Plane, Plane, Plane]>([top, front, side], (a, b, c) => {
        const { position } = intersectThreePlanes(a, b, c).feature;
        return uncertainty.axes.map((e) => e[0] * position[0] + e[1] * position[1] + e[2] * position[2]);
      }),
    );
  });

  it('for the point where an axis pierces a plane', () => {
    const { uncertainty } = propagate((a: Line, b: Plane) => intersectLinePlane(a, b).feature, [bore, top]);
    expectSame(
      uncertainty.covariance,
      monteCarlo<[Line, Plane]>([bore, top], (a, b) => {
        const { position } = intersectLinePlane(a, b).feature;
        return uncertainty.axes.map((e) => e[0] * position[0] + e[1] * position[1] + e[2] * position[2]);
      }),
    );
  });

  it('for a datum frame: its origin and the turn of its axes', () => {
    const frame = (a: Plane, b: Plane, c: Line): Frame => datumFrame({ plane: a, line: b, origin: c });
    const { value, uncertainty } = propagate(frame, [top, front, bore]);
    const dot = (p: Vec3, q: Vec3): number => p[0] * q[0] + p[1] * q[1] + p[2] * q[2];
    expectSame(
      uncertainty.covariance,
      monteCarlo<[Plane, Plane, Line]>([top, front, bore], (a, b, c) => {
        const { origin, x, y } = frame(a, b, c);
        // Turn about x: y toward z; about y: x away from z; about z: x toward y.
        return [
          ...[value.x, value.y, value.z].map((e) => dot(e, origin)),
          dot(y, value.z),
          -dot(x, value.z),
          dot(x, value.y),
        ];
      }),
    );
  });

  it('for distances and angles', () => {
    const far = plane([8, 18, 25], [0.03, 0.01, 1]);
    const numbers: [string, (a: Plane, b: Plane) => number][] = [
      ['angle', angleOf],
      ['distance', (a, b) => distanceOf(intersectLinePlane(bore.feature, a).feature, b).value],
    ];
    for (const [, f] of numbers) {
      const { uncertainty } = propagate(f, [top, front]);
      const brute = monteCarlo<[Plane, Plane]>([top, front], (a, b) => [f(a, b)]);
      expectSame(Float64Array.of(uncertainty.standard ** 2), brute);
    }
    const apart = (a: Line, b: Plane): number => distanceOf(intersectLinePlane(a, b).feature, far.feature).value;
    const { uncertainty } = propagate(apart, [bore, top]);
    expectSame(
      Float64Array.of(uncertainty.standard ** 2),
      monteCarlo<[Line, Plane]>([bore, top], (a, b) => [apart(a, b)]),
    );
  });
});

describe('features made from the same fit', () => {
  const face = rootOf('face', top);
  const wall = rootOf('wall', front);
  const hole = rootOf('hole', bore);

  it('do not count it twice: a face is at no distance from itself', () => {
    const none = derive([face, face], (a, b) => distanceOf({ kind: 'point', position: a.point }, b).value);
    expect(uncertaintyOf(none).standard).toBeLessThan(1e-9);
  });

  it('cancel what they share: a hole’s height in a frame set on the face it pierces', () => {
    const frame = derive([face, wall, hole], (a, b, c): Frame => datumFrame({ plane: a, line: b, origin: c }));
    const mouth = derive([hole, face], (a, b) => intersectLinePlane(a, b).feature);
    const height = derive([frame, mouth], (f, p) => f.toFrame(p.position)[2]);
    expect([...height.roots.keys()].sort()).toEqual(['face', 'hole', 'wall']);
    expect(uncertaintyOf(height).standard).toBeLessThan(1e-9);
    const asIfApart = propagate((f: Plane, p: Line) => intersectLinePlane(p, f).feature, [top, bore]);
    expect(Math.sqrt(asIfApart.uncertainty.covariance[8])).toBeGreaterThan(0.005);
  });

  it('say which fit the uncertainty comes from', () => {
    const loose = rootOf('loose', plane([0, -30, -10], [0.05, -1, 0.06], [0.5, 4e-4, 3e-4]));
    const gap = derive([loose, hole], (a, b) => distanceOf(intersectLinePlane(b, top.feature).feature, a).value);
    const { sources, standard } = uncertaintyOf(gap);
    expect(sources.map(({ root }) => root)).toEqual(['loose', 'hole']);
    expect(Math.hypot(...sources.map((s) => s.standard))).toBeCloseTo(standard, 12);
  });

  it('take certain values as they are', () => {
    const turned = derive([face, certain<Vec3>([0, 0, 1])], (a, n) =>
      angleOf(a, { kind: 'plane', point: [0, 0, 0], normal: n }),
    );
    expect([...turned.roots.keys()]).toEqual(['face']);
  });
});

describe('degrees of freedom', () => {
  // JCGM 100, G.4.1: ν = u⁴ / Σ(uᵢ⁴/νᵢ).
  it('follow Welch and Satterthwaite', () => {
    const a: Estimate<Plane> = plane([0, 0, 0], [0, 0, 1], [0.03, 1e-9, 1e-9]);
    const b: Estimate<Plane> = plane([0, 0, 9], [0, 0, 1], [0.04, 1e-9, 1e-9]);
    const gap = (p: Plane, q: Plane): number => distanceOf({ kind: 'point', position: q.point }, p).value;
    const { uncertainty } = propagate(gap, [
      { ...a, uncertainty: { ...a.uncertainty, degreesOfFreedom: 4 } },
      { ...b, uncertainty: { ...b.uncertainty, degreesOfFreedom: 9 } },
    ]);
    expect(uncertainty.standard).toBeCloseTo(0.05, 6);
    expect(uncertainty.degreesOfFreedom).toBeCloseTo(0.05 ** 4 / (0.03 ** 4 / 4 + 0.04 ** 4 / 9), 3);
  });

  it('count only what is random: a stated accuracy is known for certain', () => {
    const random = covarianceOf([0.03, 1e-9, 1e-9]);
    const covariance = random.slice();
    covariance[0] += 0.04 ** 2;
    const face = plane([0, 0, 0], [0, 0, 1]);
    const height = propagate(
      (p: Plane) => distanceOf({ kind: 'point', position: [0, 0, 5] }, p).value,
      [{ ...face, uncertainty: { ...face.uncertainty, covariance, random, degreesOfFreedom: 4 } }],
    ).uncertainty;
    expect(height.standard).toBeCloseTo(0.05, 6);
    expect(height.random).toBeCloseTo(0.03, 6);
    expect(expandedNumber(height).degreesOfFreedom).toBeCloseTo(4 * (0.05 / 0.03) ** 4, 2);
  });

  it('are none where a fit had none, and the interval is then without end', () => {
    const blind = { ...top, uncertainty: { ...top.uncertainty, covariance: new Float64Array(9), degreesOfFreedom: 0 } };
    const { uncertainty } = propagate(angleOf, [blind, front]);
    expect(uncertainty.degreesOfFreedom).toBe(0);
    expect(expandedNumber(uncertainty).value).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('moving a feature', () => {
  const all: [Feature, number][] = [
    [{ kind: 'plane', point: [1, 2, 3], normal: unit([1, 2, 2]) }, 3],
    [{ kind: 'line', point: [1, 2, 3], direction: unit([1, 2, 2]) }, 4],
    [{ kind: 'point', position: [1, 2, 3] }, 3],
    [{ kind: 'circle', center: [1, 2, 3], normal: unit([1, 2, 2]), radius: 4 }, 6],
    [{ kind: 'sphere', center: [1, 2, 3], radius: 4 }, 4],
    [{ kind: 'cylinder', point: [1, 2, 3], direction: unit([1, 2, 2]), radius: 4 }, 5],
    [{ kind: 'cone', apex: [1, 2, 3], direction: unit([1, 2, 2]), halfAngle: 0.4 }, 6],
    [{ kind: 'slot', center: [1, 2, 3], normal: [0, 0, 1], direction: [1, 0, 0], length: 20, width: 8 }, 5],
    [{ kind: 'ellipse', center: [1, 2, 3], normal: [0, 0, 1], direction: [1, 0, 0], major: 5, minor: 4 }, 5],
  ];

  it.each(all)('is undone by telling by how much it moved: %o', (feature, m) => {
    const w: Vec3 = 'normal' in feature ? feature.normal : 'direction' in feature ? feature.direction : [0, 0, 1];
    const place =
      'position' in feature
        ? feature.position
        : 'apex' in feature
          ? feature.apex
          : 'point' in feature
            ? feature.point
            : feature.center;
    // Told about a place on the axis some way from the feature's own point; a center is where it is.
    const isAxis = feature.kind === 'line' || feature.kind === 'cylinder' || feature.kind === 'cone';
    const at: Vec3 = isAxis ? [place[0] + 7 * w[0], place[1] + 7 * w[1], place[2] + 7 * w[2]] : place;
    const axes =
      feature.kind === 'slot' || feature.kind === 'ellipse'
        ? ([
            [1, 0, 0],
            [0, 1, 0],
            [0, 0, 1],
          ] as const)
        : square(w);
    const delta = Array.from({ length: m }, (_, i) => 1e-4 * (i + 1) * (i % 2 ? -1 : 1));
    const told = moveOf(moved(feature, { at, axes }, delta), { at, axes }, feature);
    expect(told).toHaveLength(m);
    // Second order: products of two moves of some 1e-4.
    told.forEach((d, i) => {
      expect(Math.abs(d - delta[i])).toBeLessThan(2e-6);
    });
  });

  it('keeps directions at unit length', () => {
    const far = moved(all[0][0] as Plane, { at: [0, 0, 0], axes: square(unit([1, 2, 2])) }, [5, 0.3, -0.2]);
    expect(Math.hypot(...far.normal)).toBeCloseTo(1, 14);
  });

  it('shows a cone’s radius where it was told to grow', () => {
    const cone: Feature = { kind: 'cone', apex: [0, 0, 0], direction: [0, 0, 1], halfAngle: 0.3 };
    const wider = moved(
      cone,
      {
        at: [0, 0, 10],
        axes: [
          [1, 0, 0],
          [0, 1, 0],
          [0, 0, 1],
        ],
      },
      [0, 0, 0, 0, 0.5, 0.1],
    );
    expect((10 - wider.apex[2]) * Math.tan(wider.halfAngle)).toBeCloseTo(10 * Math.tan(0.3) + 0.5, 12);
  });
});

describe('an expanded uncertainty', () => {
  it('names the worst direction of a position', () => {
    const { position } = expanded({
      kind: 'point',
      at: [0, 0, 0],
      axes: [
        [0, 1, 0],
        [0, 0, 1],
        [1, 0, 0],
      ],
      covariance: Float64Array.of(0.01, 0, 0, 0, 0.04, 0, 0, 0, 0.01),
      degreesOfFreedom: Number.POSITIVE_INFINITY,
      reach: 1,
    });
    expect(position.value).toBeCloseTo(1.96 * 0.2, 4);
    expect(Math.abs(position.worst[2])).toBeCloseTo(1, 12);
    expect(position.dimensions).toBe(3);
    expect(position.together).toBeCloseTo(Math.sqrt(7.815) * 0.2, 4);
  });

  it('tells a direction as an angle and over the feature’s length', () => {
    const { direction } = expanded(front.uncertainty);
    expect(direction!.overLength).toBeCloseTo(direction!.value * 60, 12);
    // Largest eigenvalue of the tilts' block (4e-4, 3e-4, correlation 0.4), Student's t at 20 degrees: 2.086.
    const trace = 16e-8 + 9e-8;
    const off = 0.4 * 12e-8;
    const largest = trace / 2 + Math.hypot((16e-8 - 9e-8) / 2, off);
    expect(direction!.value).toBeCloseTo(2.086 * Math.sqrt(largest), 6);
  });
});
