import { vec3 } from '@fettle/geom';
import fc from 'fast-check';
import { Matrix4, OrthographicCamera, Plane, Quaternion, Raycaster, Vector2, Vector3 } from 'three';
import { describe, expect, test } from 'vitest';
import {
  backOf,
  behind,
  fitted,
  lookingFrom,
  orbited,
  panned,
  pixelOf,
  placeAt,
  type Rig,
  rayAt,
  zoomed,
} from '../../packages/viewer/src/scene/rig.js';

type Vec3 = vec3.Vec3;

const coordinate = fc.double({ min: -1000, max: 1000, noNaN: true });
const place = fc.tuple(coordinate, coordinate, coordinate);
const pixel = fc.tuple(fc.integer({ min: 0, max: 1280 }), fc.integer({ min: 0, max: 720 }));
const rigs = fc
  .record({
    center: place,
    toEye: place.filter((v) => vec3.length(v) > 1),
    up: place.filter((v) => vec3.length(v) > 1),
    scale: fc.double({ min: 0.01, max: 5, noNaN: true }),
  })
  .map(
    ({ center, toEye, up, scale }): Rig =>
      lookingFrom({ center, right: [1, 0, 0], up: [0, 1, 0], scale, width: 1280, height: 720 }, toEye, up),
  );

/** The same view as three sees it: the oracle of these tests. */
function cameraOf(rig: Rig, away = 5000): OrthographicCamera {
  const half = [(rig.width * rig.scale) / 2, (rig.height * rig.scale) / 2] as const;
  const camera = new OrthographicCamera(-half[0], half[0], half[1], -half[1], 0, 2 * away);
  const back = new Vector3(...backOf(rig));
  camera.position.set(...rig.center).addScaledVector(back, away);
  camera.quaternion.setFromRotationMatrix(
    new Matrix4().makeBasis(new Vector3(...rig.right), new Vector3(...rig.up), back),
  );
  camera.updateMatrixWorld(true);
  camera.updateProjectionMatrix();
  return camera;
}

const isNear = (a: readonly number[], b: readonly number[], by: number): void => {
  expect(a).toHaveLength(b.length);
  a.forEach((v, k) => {
    expect(Math.abs(v - b[k]!)).toBeLessThan(by);
  });
};

const isSquare = ({ right, up }: Rig): void => {
  expect(vec3.length(right)).toBeCloseTo(1, 12);
  expect(vec3.length(up)).toBeCloseTo(1, 12);
  expect(vec3.dot(right, up)).toBeCloseTo(0, 12);
};

describe('where places are shown', () => {
  test('is where an orthographic camera of three shows them', () => {
    fc.assert(
      fc.property(rigs, place, (rig, at) => {
        const { x, y } = new Vector3(...at).project(cameraOf(rig));
        isNear(pixelOf(rig, at), [((x + 1) * rig.width) / 2, ((1 - y) * rig.height) / 2], 1e-6 / rig.scale);
      }),
    );
  });

  test('a pixel shows the place that is shown at the pixel', () => {
    fc.assert(
      fc.property(rigs, pixel, (rig, [x, y]) => {
        isNear(pixelOf(rig, placeAt(rig, x, y)), [x, y], 1e-6 / rig.scale);
      }),
    );
  });

  test("the ray through a pixel is the ray of three's caster", () => {
    fc.assert(
      fc.property(rigs, pixel, (rig, [x, y]) => {
        const caster = new Raycaster();
        caster.setFromCamera(new Vector2((2 * x) / rig.width - 1, 1 - (2 * y) / rig.height), cameraOf(rig, 500));
        const { from, direction } = rayAt(rig, x, y, 500);
        isNear(direction, caster.ray.direction.toArray(), 1e-9);
        const off = caster.ray.distanceSqToPoint(new Vector3(...from));
        expect(Math.sqrt(off)).toBeLessThan(1e-6);
      }),
    );
  });
});

describe('turning', () => {
  test('keeps the place it turns about under the pointer, at the same depth', () => {
    fc.assert(
      fc.property(rigs, place, pixel, (rig, about, [dx, dy]) => {
        const moved = orbited(rig, about, dx - 640, dy - 360);
        isNear(pixelOf(moved, about), pixelOf(rig, about), 1e-6 / rig.scale);
        const depth = (of: Rig): number => vec3.dot(vec3.subtract(about, of.center), backOf(of));
        expect(depth(moved)).toBeCloseTo(depth(rig), 6);
      }),
    );
  });

  test("is three's rotation: sideways about what points up, then up and down about what points right", () => {
    const rig = lookingFrom(START, [1, 2, 3], [0, 0, 1]);
    const [dx, dy] = [120, -45];
    const perPixel = Math.PI / 720;
    const side = new Quaternion().setFromAxisAngle(new Vector3(...rig.up), -dx * perPixel);
    const over = new Quaternion().setFromAxisAngle(new Vector3(...rig.right), -dy * perPixel);
    const back = new Vector3(...backOf(rig)).applyQuaternion(side).applyQuaternion(over);
    isNear(backOf(orbited(rig, [5, 5, 5], dx, dy)), back.toArray(), 1e-12);
  });

  test('shows the scan as dragged: what is in front goes with the pointer', () => {
    const rig = START;
    const front: Vec3 = [0, 0, 100];
    const [x, y] = pixelOf(rig, front);
    const [nx, ny] = pixelOf(orbited(rig, rig.center, 30, 20), front);
    expect(nx).toBeGreaterThan(x);
    expect(ny).toBeGreaterThan(y);
  });

  test('leaves axes square after ten thousand moves', () => {
    let rig = START;
    for (let i = 0; i < 10_000; i++) rig = orbited(rig, [3, -4, 50], (i % 17) - 8, (i % 13) - 6);
    isSquare(rig);
  });
});

describe('shifting and zooming', () => {
  test('what is under the pointer stays under it while shifting', () => {
    fc.assert(
      fc.property(rigs, pixel, pixel, (rig, [x, y], [tx, ty]) => {
        isNear(pixelOf(panned(rig, tx - x, ty - y), placeAt(rig, x, y)), [tx, ty], 1e-6 / rig.scale);
      }),
    );
  });

  test('what is under the pointer stays there while zooming', () => {
    fc.assert(
      fc.property(rigs, pixel, fc.double({ min: 0.2, max: 5, noNaN: true }), (rig, [x, y], factor) => {
        const moved = zoomed(rig, factor, x, y);
        isNear(pixelOf(moved, placeAt(rig, x, y)), [x, y], 1e-6 / moved.scale);
        expect(rig.scale / moved.scale).toBeCloseTo(factor, 9);
      }),
    );
  });

  test('ends at a ten thousandth of a millimeter and at ten meters a pixel', () => {
    expect(zoomed(START, 1e30).scale).toBe(1e-5);
    expect(zoomed(START, 1e-30).scale).toBe(1e4);
  });

  test('showing all leaves a margin of seven hundredths and wastes no room', () => {
    // With these four no view sees all of them behind one another.
    const four: Vec3[] = [
      [0, 0, 0],
      [100, 0, 0],
      [0, 100, 0],
      [0, 0, 100],
    ];
    const places = fc.array(place, { maxLength: 50 }).map((some) => [...four, ...some]);
    fc.assert(
      fc.property(rigs, places, place, (rig, all, origin) => {
        const shown = fitted(rig, all.flat(), origin);
        const at = all.map((one) => pixelOf(shown, vec3.addScaled(origin, one, 1)));
        const across = at.map(([x]) => x / shown.width);
        const along = at.map(([, y]) => y / shown.height);
        const free = [Math.min(...across), 1 - Math.max(...across), Math.min(...along), 1 - Math.max(...along)];
        expect(Math.min(...free)).toBeCloseTo(0.07, 5);
        expect(free[0]! - free[1]!).toBeCloseTo(0, 5);
        expect(free[2]! - free[3]!).toBeCloseTo(0, 5);
      }),
    );
  });

  test('showing all of nothing changes nothing', () => {
    expect(fitted(START, [], [1, 2, 3])).toBe(START);
  });
});

describe('looking along an axis', () => {
  test('puts the axis toward the eye and the other one up', () => {
    const rig = lookingFrom(START, [0, -1, 0], [0, 0, 1]);
    isNear(backOf(rig), [0, -1, 0], 1e-12);
    isNear(rig.up, [0, 0, 1], 1e-12);
    isNear(rig.right, [1, 0, 0], 1e-12);
  });

  test('finds some way up where the axis is the one that should be', () => {
    for (const axis of [
      [0, 0, 1],
      [0, 0, -1],
      [0, 1, 0],
      [1, 0, 0],
    ] as const) {
      const rig = lookingFrom(START, axis, axis);
      isSquare(rig);
      isNear(backOf(rig), axis, 1e-12);
    }
  });
});

describe('a ray where a section cuts away', () => {
  const plane = { point: [0, 0, 10] as Vec3, normal: [0, 0, 1] as Vec3 };

  test('begins at the plane, as a ray of three meets it', () => {
    fc.assert(
      fc.property(rigs, pixel, (rig, [x, y]) => {
        const ray = rayAt(rig, x, y, 5000);
        fc.pre(ray.from[2] > 10 && ray.direction[2] < -0.01);
        const caster = new Raycaster(new Vector3(...ray.from), new Vector3(...ray.direction));
        const met = caster.ray.intersectPlane(new Plane(new Vector3(0, 0, 1), -10), new Vector3())!;
        isNear(behind(ray, plane)!.from, met.toArray(), 1e-6);
      }),
    );
  });

  test('is as it was behind the plane, and nothing before it where it goes along', () => {
    const ray = { from: [1, 2, 3] as Vec3, direction: [1, 0, 0] as Vec3 };
    expect(behind(ray, plane)).toBe(ray);
    expect(behind({ ...ray, from: [1, 2, 11] as Vec3 }, plane)).toBeUndefined();
    expect(behind({ from: [1, 2, 11] as Vec3, direction: [0, 0, 1] as Vec3 }, plane)).toBeUndefined();
  });
});

const START: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 0.5, width: 1280, height: 720 };
