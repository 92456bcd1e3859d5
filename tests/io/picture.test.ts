import { createScan, FettleError, frameOf, type Vec3 } from '@fettle/geom';
import { drawPicture, type Picture, pngBytes, renderPicture, type ViewName } from '@fettle/io';
import { describe, expect, test } from 'vitest';
import { cube, type Face, faces } from './picture-cube.js';
import { decodePng } from './png-decode.js';

const PAPER = [249, 248, 245];
const pixel = ({ rgb, width }: Picture, x: number, y: number): number[] =>
  Array.from(rgb.subarray(3 * (y * width + x), 3 * (y * width + x) + 3));
const isPaper = (picture: Picture, x: number, y: number): boolean =>
  pixel(picture, x, y).every((c, k) => c === PAPER[k]);
const inked = (picture: Picture): number => {
  let count = 0;
  for (let y = 0; y < picture.height; y++) for (let x = 0; x < picture.width; x++) if (!isPaper(picture, x, y)) count++;
  return count;
};
const code = (act: () => unknown): string => {
  try {
    act();
  } catch (error) {
    if (error instanceof FettleError) return error.code;
    throw error;
  }
  return 'none';
};

describe('PNG', () => {
  const noisy = () => {
    const rgb = new Uint8Array(3 * 37 * 23);
    for (let i = 0; i < rgb.length; i++) rgb[i] = (i * i * 31 + i * 7) % 256;
    return { width: 37, height: 23, rgb };
  };

  test('true color reads back pixel by pixel, in the chunks the standard asks for', () => {
    const read = decodePng(pngBytes(noisy()));
    expect(read.chunks).toEqual(['IHDR', 'IDAT', 'IEND']);
    expect([read.width, read.height]).toEqual([37, 23]);
    expect(read.rgb).toEqual(noisy().rgb);
  });

  test('a palette keeps up to 256 colors exactly when the picture has no more in different cells', () => {
    const rgb = new Uint8Array(3 * 256);
    for (let i = 0; i < 256; i++) rgb.set([(i & 7) * 36, ((i >> 3) & 7) * 36, (i >> 6) * 80], 3 * i);
    const read = decodePng(pngBytes({ width: 16, height: 16, rgb }, { palette: true }));
    expect(read.chunks).toEqual(['IHDR', 'PLTE', 'IDAT', 'IEND']);
    expect(read.rgb).toEqual(rgb);
  });

  test('a palette of a shaded picture is off by no more than the eye sees, and smaller', () => {
    const picture = drawPicture(cube(40).scan, { size: { width: 300, height: 200 } });
    const bytes = pngBytes(picture, { palette: true });
    const read = decodePng(bytes);
    const worst = read.rgb.reduce((most, c, i) => Math.max(most, Math.abs(c - picture.rgb[i]!)), 0);
    expect(worst).toBeLessThanOrEqual(12);
    expect(bytes.length).toBeLessThan(pngBytes(picture).length);
  });
});

describe('views', () => {
  const size = { width: 300, height: 200 };
  const { scan, points } = cube();

  test('a cube seen along an axis is a square of its size, true to the camera', () => {
    for (const view of ['front', 'back', 'left', 'right', 'top', 'bottom'] as const) {
      const picture = drawPicture(scan, { view, size });
      const side = 100 * picture.camera.scale;
      expect(inked(picture)).toBeGreaterThan((side - 1) ** 2);
      expect(inked(picture)).toBeLessThan((side + 1.5) ** 2);
      const [x, y] = picture.camera.toPicture([50, 50, 50]);
      expect([x, y]).toEqual([expect.closeTo(150, 6), expect.closeTo(100, 6)]);
      expect(isPaper(picture, Math.round(x - side / 2 - 2), 100)).toBe(true);
      expect(isPaper(picture, Math.round(x - side / 2 + 1), 100)).toBe(false);
      expect(isPaper(picture, Math.round(x + side / 2 + 1), 100)).toBe(true);
      expect(isPaper(picture, Math.round(x + side / 2 - 2), 100)).toBe(false);
    }
  });

  // ISO 128-3: seen from the front x runs to the right and z up; from the left, toward the back is to the left.
  test.each<[ViewName, Vec3, Vec3]>([
    ['front', [1, 0, 0], [0, 0, 1]],
    ['back', [-1, 0, 0], [0, 0, 1]],
    ['left', [0, -1, 0], [0, 0, 1]],
    ['right', [0, 1, 0], [0, 0, 1]],
    ['top', [1, 0, 0], [0, 1, 0]],
  ])('%s has its axes where a drawing has them', (view, right, up) => {
    const { camera } = drawPicture(scan, { view, size });
    camera.right.forEach((c, k) => void expect(c).toBeCloseTo(right[k]!, 12));
    camera.up.forEach((c, k) => void expect(c).toBeCloseTo(up[k]!, 12));
  });

  test('each face, tinted, is seen from its own side alone', () => {
    const red = [255, 0, 0] as const;
    for (const face of faces)
      for (const view of faces) {
        const picture = drawPicture(scan, { view, size, regions: [{ select: points[face], tint: red }] });
        const [r, g] = pixel(picture, 150, 100) as [number, number];
        expect(r - g > 60, `${face} seen from the ${view}`).toBe(face === view);
      }
  });

  test('views go with the datum frame', () => {
    const turned = frameOf([0, 0, 0], [0, 0, 1], [1, 0, 0]);
    const { camera } = drawPicture(scan, { view: 'top', size, frame: turned });
    camera.back.forEach((c, k) => void expect(c).toBeCloseTo(turned.z[k]!, 12));
  });

  test('triangles that face away show the dark inside', () => {
    const lid = createScan({ positions: scan.positions, triangles: scan.triangles!.slice(0, 600), name: 'lid.ply' });
    const middleFrom = (view: ViewName): number => Math.max(...pixel(drawPicture(lid, { view, size }), 150, 100));
    expect(middleFrom('top')).toBeGreaterThan(120);
    expect(middleFrom('bottom')).toBeLessThan(70);
  });

  test('a cloud shows as a surface without gaps', () => {
    const cloud = createScan({ positions: cube(60).scan.positions, name: 'cloud.ply' });
    const picture = drawPicture(cloud, { view: 'front', size });
    for (let y = 60; y <= 140; y += 7)
      for (let x = 110; x <= 190; x += 7) expect(isPaper(picture, x, y), `${x}, ${y}`).toBe(false);
  });

  test('the same scan gives the same bytes', () => {
    expect(renderPicture(scan, { size })).toEqual(renderPicture(scan, { size }));
  });

  test('what cannot be drawn is refused', () => {
    expect(code(() => drawPicture(scan, { size: { width: 0, height: 100 } }))).toBe('picture-size');
    expect(code(() => drawPicture(scan, { size: { width: 90_000, height: 90_000 } }))).toBe('picture-size');
    expect(code(() => drawPicture(scan, { view: { from: [0, 0, 0] } }))).toBe('view');
    expect(code(() => drawPicture(scan, { view: { from: [1, 2, 3], up: [2, 4, 6] } }))).toBe('view');
  });
});

describe('balloons', () => {
  const { scan, points } = cube();
  const balloons = faces.map((face, i) => ({ number: i + 1, points: points[face] }));
  const numberOf = (face: Face): number => faces.indexOf(face) + 1;

  test('faces seen have theirs, hidden ones none', () => {
    const seen = (view: ViewName): number[] =>
      drawPicture(scan, { view, balloons })
        .balloons.map(({ number }) => number)
        .sort();
    expect(seen('front')).toEqual([numberOf('front')]);
    expect(seen('front-left')).toEqual([numberOf('top'), numberOf('front'), numberOf('left')].sort());
    expect(seen('back-right')).toEqual([numberOf('top'), numberOf('back'), numberOf('right')].sort());
  });

  test('a leader ends on its own face', () => {
    const picture = drawPicture(scan, { view: 'front-left', balloons });
    const { anchor } = picture.balloons.find(({ number }) => number === numberOf('top'))!;
    const corners = [
      [0, 0, 100],
      [100, 0, 100],
      [100, 100, 100],
      [0, 100, 100],
    ].map((p) => picture.camera.toPicture(p as unknown as Vec3));
    const sides = corners.map((a, i) => {
      const b = corners[(i + 1) % 4]!;
      return Math.sign((b[0] - a[0]) * (anchor[1] - a[1]) - (b[1] - a[1]) * (anchor[0] - a[0]));
    });
    expect(new Set(sides).size).toBe(1);
  });

  test('thirty on one small part do not touch, and stay on the picture', () => {
    const many = Array.from({ length: 30 }, (_, i) => ({
      number: i + 1,
      at: [10 + 8 * (i % 5), 0, 20 + 9 * Math.floor(i / 5)] as const,
    }));
    const { balloons: placed } = drawPicture(scan, { view: 'front', balloons: many });
    expect(placed).toHaveLength(30);
    for (const a of placed) {
      expect(a.box.left >= 0 && a.box.top >= 0 && a.box.right <= 1200 && a.box.bottom <= 750).toBe(true);
      for (const b of placed)
        if (a !== b)
          expect(Math.hypot(a.center[0] - b.center[0], a.center[1] - b.center[1])).toBeGreaterThan(2 * a.radius);
    }
  });
});

describe('a scan cut open', () => {
  const { scan, points } = cube();
  const plane = { kind: 'plane', point: [0, 0, 50], normal: [0, 0, 1] } as const;
  const outline = Float64Array.of(0, 0, 50, 100, 0, 50, 100, 100, 50, 0, 100, 50);
  const picture = drawPicture(scan, {
    view: 'top',
    size: { width: 300, height: 200 },
    cut: { plane, lines: [{ points: outline, closed: true }] },
    balloons: [
      { number: 1, points: points.top },
      { number: 2, points: points.left },
      { number: 3, at: [50, 50, 100] },
      { number: 4, at: [50, 50, 50] },
    ],
  });

  test('what the normal points to is gone: the inside of the far skin is seen, dark', () => {
    const [x, y] = picture.camera.toPicture([20, 20, 0]);
    // The color of the inside, tint.ts.
    expect(pixel(picture, Math.round(x), Math.round(y))).toEqual([54, 54, 57]);
  });

  test('the cut is a line where the section is, closed', () => {
    for (const place of [
      [50, 0, 50],
      [100, 50, 50],
      [50, 100, 50],
      [0, 25, 50],
    ] as const) {
      const [x, y] = picture.camera.toPicture(place);
      const seen = pixel(picture, Math.floor(x), Math.floor(y));
      const farthest = Math.max(...seen.map((c, k) => Math.abs(c - [33, 38, 46][k]!)));
      expect(farthest).toBeLessThan(30);
    }
  });

  test('balloons of what was cut away are left out', () => {
    expect(picture.balloons.map(({ number }) => number)).toEqual([4]);
  });
});
