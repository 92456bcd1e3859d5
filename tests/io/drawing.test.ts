import { readFileSync } from 'node:fs';
import { checkPlan, cutMesh, FettleError, frameOf, profileOf, runPlan, type Section } from '@fettle/geom';
import { type Drawing, featureDrawing, laySheet, outcomeDrawing, sectionDrawing, writeSvg } from '@fettle/io';
import { describe, expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { polygon, sectionOf } from '../geom/outlines.js';
import { elementsOf } from './markup.js';
import { cube } from './picture-cube.js';

/** A section across z whose outline runs through the places given, in scan axes. */
const across = (places: readonly (readonly [number, number])[], closed = true): Section => ({
  plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
  origin: [0, 0, 0],
  x: [1, 0, 0],
  y: [0, 1, 0],
  polylines: [
    {
      closed,
      flat: Float64Array.from(places.flat()),
      points: Float64Array.from(places.flatMap(([x, y]) => [x, y, 0])),
    },
  ],
});

const rectangle = across([
  [0, 0],
  [50, 0],
  [50, 30],
  [0, 30],
]);

const code = (act: () => unknown): string => {
  try {
    act();
  } catch (error) {
    if (error instanceof FettleError) return error.code;
    throw error;
  }
  return 'none';
};

/** Places a path goes through, of one made of M and L alone. */
const placesOf = (d: string): number[][] =>
  [...d.matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]);
const outlineOf = (svg: string): number[][] =>
  placesOf(
    elementsOf(svg, 'xml').find((e) => e.name === 'path' && e.attributes['stroke-width'] === '0.5')!.attributes.d!,
  );

describe('size on paper', () => {
  // ISO 216: A4 is 210 × 297 mm, each larger one twice the smaller.
  test.each([
    ['A4', 210, 297],
    ['A4 landscape', 297, 210],
    ['A3', 420, 297],
    ['A2', 594, 420],
    ['A1', 841, 594],
    ['A0', 1189, 841],
  ] as const)('%s is %d × %d mm, its coordinates are mm', (paper, width, height) => {
    const [svg] = elementsOf(writeSvg(rectangle, { paper }), 'xml');
    expect(svg!.attributes).toMatchObject({
      width: `${width}mm`,
      height: `${height}mm`,
      viewBox: `0 0 ${width} ${height}`,
    });
  });

  test.each([1, 0.5, 2])('at scale %d the outline has its size times the scale', (scale) => {
    const places = outlineOf(writeSvg(rectangle, { scale }));
    const [xs, ys] = [places.map(([x]) => x!), places.map(([, y]) => y!)];
    expect(Math.max(...xs) - Math.min(...xs)).toBeCloseTo(50 * scale, 6);
    expect(Math.max(...ys) - Math.min(...ys)).toBeCloseTo(30 * scale, 6);
  });

  test('the scale bar is as long as it says', () => {
    for (const scale of [1, 0.2, 2]) {
      const bar = elementsOf(writeSvg(rectangle, { scale }), 'xml').find((e) => 'data-scale-bar' in e.attributes)!;
      const long = Number(/h([\d.]+)/.exec(bar.attributes.d!)![1]);
      expect(long).toBeCloseTo(Number(bar.attributes['data-scale-bar']) * scale, 6);
    }
  });

  test('the smallest paper that holds the drawing is taken, and what A0 does not hold is refused', () => {
    const square = (side: number) =>
      across([
        [0, 0],
        [side, 0],
        [side, side],
        [0, side],
      ]);
    // Beside the part a sheet needs some 50 mm for labels and a dimension, and 76 mm for frame, bar and title block.
    const paper = (side: number): string => laySheet(sectionDrawing(square(side))).paper.name;
    expect([50, 200, 300, 550].map(paper)).toEqual(['A4', 'A2', 'A1', 'A0']);
    expect(code(() => writeSvg(square(900)))).toBe('drawing-too-large');
    expect(laySheet(sectionDrawing(square(900)), { scale: 'fit' })).toMatchObject({
      scale: 0.1,
      paper: { name: 'A4' },
    });
    expect(code(() => writeSvg(rectangle, { scale: 0 }))).toBe('drawing-scale');
    expect(code(() => writeSvg(across([])))).toBe('drawing-empty');
    for (const nothing of [{}, null, undefined, { shapes: 3 }, 'section'])
      expect(code(() => writeSvg(nothing as unknown as Drawing))).toBe('drawing-content');
  });
});

describe('sections', () => {
  test('drawn from their profile they have its sizes, not those of the noise, each once, and angles that are not right', () => {
    const corners = [
      [0, 0],
      [90, 0],
      [90, 25],
      [60, 40],
      [30, 40],
      [30, 70],
      [0, 70],
    ] as const;
    const section = sectionOf(polygon(corners), { noise: 0.03, seed: 2 });
    const drawing = sectionDrawing(section, { profiles: [profileOf(section)] });
    const sizes = drawing.dimensions
      .map(({ text }) => Math.round(10 * Number.parseFloat(text.replace('(', ''))) / 10)
      .sort((a, b) => a - b);
    // The upright arm is 30 wide, and ends 30 above the level one.
    expect(sizes).toEqual([30, 30, 40, 70, 90]);
    // The slope falls 15 over 30: 180° − 26.57°, and the corner to the side 90° + 26.57°.
    const [small, large] = drawing.labels.map(({ text }) => Number.parseFloat(text)).sort((a, b) => a - b);
    expect(small).toBeCloseTo(116.57, 0);
    expect(large).toBeCloseTo(153.43, 0);
    const { boxes } = laySheet(drawing, {});
    for (const [i, a] of boxes.entries())
      for (const b of boxes.slice(i + 1))
        expect(a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom).toBe(false);
  });

  test('a cube cut across is a square of its size, dimensioned', () => {
    const section = cutMesh(cube().scan, { point: [0, 0, 50], normal: [0, 0, 1] });
    const svg = writeSvg(section);
    const places = outlineOf(svg);
    expect(Math.max(...places.map(([x]) => x!)) - Math.min(...places.map(([x]) => x!))).toBeCloseTo(100, 3);
    expect(elementsOf(svg, 'xml').filter((e) => e.name === 'text' && e.text === '(100.0)')).toHaveLength(2);
  });

  test('with a frame the section stands upright and is not mirrored', () => {
    const hook = across([
      [0, 0],
      [40, 0],
      [40, 10],
      [10, 10],
      [10, 30],
      [0, 30],
    ]);
    // The frame's y runs along scan x, its x against scan y: a quarter turn.
    const frame = frameOf([0, 0, 0], [0, -1, 0], [1, 0, 0]);
    const [shape] = sectionDrawing(hook, { frame }).shapes;
    if (shape?.kind !== 'polyline') throw new Error('no polyline');
    const expected = [
      [0, 0],
      [0, 40],
      [-10, 40],
      [-10, 10],
      [-30, 10],
      [-30, 0],
    ].flat();
    shape.flat.forEach((c, i) => void expect(c).toBeCloseTo(expected[i]!, 9));
  });

  test('profiles are drawn as lines and arcs with their radii', () => {
    const places = Array.from({ length: 400 }, (_, i) => {
      const angle = (2 * Math.PI * i) / 400;
      return [20 * Math.cos(angle), 20 * Math.sin(angle)] as const;
    });
    const section = across(places);
    const svg = writeSvg(section, { profiles: [profileOf(section)] });
    const elements = elementsOf(svg, 'xml');
    const circle = elements.find((e) => e.name === 'circle' && e.attributes['stroke-width'] === '0.5')!;
    expect(Number(circle.attributes.r)).toBeCloseTo(20, 2);
    expect(elements.some((e) => e.name === 'text' && /^⌀40\.000( ± 0\.001)?$/.test(e.text))).toBe(true);
  });

  test('specks do not count for the over-all sizes', () => {
    const section = {
      ...rectangle,
      polylines: [
        ...rectangle.polylines,
        ...across(
          [
            [90, 90],
            [90.2, 90],
          ],
          false,
        ).polylines,
      ],
    };
    expect(sectionDrawing(section).dimensions.map(({ text }) => text)).toEqual(['(50.0)', '(30.0)']);
  });
});

describe('lines and symbols', () => {
  const drawing: Drawing = {
    shapes: [
      { kind: 'polyline', line: 'outline', flat: Float64Array.of(0, 0, 80, 0), closed: false },
      { kind: 'center-mark', line: 'center', center: [40, 30], radius: 10 },
      { kind: 'arc', line: 'hidden', center: [40, 30], radius: 10, start: [50, 30], sweep: Math.PI / 2 },
    ],
    dimensions: [],
    labels: [],
    balloons: [],
    datums: [{ letter: 'A', at: [20, 0], outward: [0, -1] }],
  };
  const elements = elementsOf(writeSvg(drawing, { title: 'Lines & <symbols>' }), 'xml');

  test('line types are those of ISO 128: wide twice narrow, long dash and dot, dash', () => {
    const looks = new Set(
      elements
        .filter(({ attributes }) => attributes.class === 'line')
        .map(({ attributes }) => `${attributes['stroke-width']} ${attributes['stroke-dasharray'] ?? ''}`.trim()),
    );
    // ISO 128-20, table 1: long dash 24 d, gap 3 d, dot 0.5 d; dash 12 d, gap 3 d; d = 0.25 mm (from memory).
    expect(looks).toEqual(new Set(['0.5', '0.25', '0.25 6 0.75 0.125 0.75', '0.25 3 0.75']));
  });

  test('the datum triangle stands on its surface, filled, on the side out of the material', () => {
    const mark = elements.find(({ attributes }) => attributes['data-datum'] === 'A')!;
    const [tip, left, right] = placesOf(mark.attributes.d!) as [number[], number[], number[]];
    const surface = outlineOf(writeSvg(drawing))[0]![1]!;
    expect(left[1]).toBeCloseTo(surface, 3);
    expect(right[1]).toBeCloseTo(surface, 3);
    expect(tip[1]! - surface).toBeCloseTo(3, 3);
    expect((left[0]! + right[0]!) / 2).toBeCloseTo(tip[0]!, 3);
  });

  test('an arc turns the way it does on the part', () => {
    const arc = elements.find(({ attributes }) => attributes.d?.includes('A'))!;
    // From the right to the top, counterclockwise as seen: sweep flag 0 where y runs down.
    expect(arc.attributes.d).toMatch(/A10 10 0 0 0 /);
  });

  test('the title block has what it was told, its marks escaped', () => {
    expect(elements.some((e) => e.name === 'text' && e.text === 'Lines &amp; &lt;symbols&gt;')).toBe(true);
    expect(elements.some((e) => e.name === 'text' && e.text === '1:1')).toBe(true);
  });
});

describe('what draftsmen do so that a sheet can be read', () => {
  const bare: Drawing = {
    shapes: [{ kind: 'polyline', line: 'outline', flat: Float64Array.of(0, 0, 80, 0, 80, 40, 0, 40), closed: true }],
    dimensions: [],
    labels: [],
    balloons: [],
    datums: [],
  };
  const textsOf = (svg: string): string[] =>
    elementsOf(svg, 'xml')
      .filter(({ name }) => name === 'text')
      .map(({ text }) => text);

  test.each([
    ['Plate', ['Plate']],
    [
      'Irrigation pump: where an adapter plate for a flow sensor has to fit',
      [/^Irrigation pump: where an adapter plate/, /sensor has to fit$/],
    ],
  ])('the title %s stands whole in the title block', (title, lines) => {
    const texts = textsOf(writeSvg(bare, { title }));
    const from = texts.indexOf('Title') + 1;
    lines.forEach((line, i) => void expect(texts[from + i]).toMatch(line));
    expect(texts.slice(from, from + lines.length).join(' ')).toBe(title);
  });

  test('what fits no field even in small letters on two lines is cut at its end', () => {
    const texts = textsOf(writeSvg(bare, { creator: 'The measuring bench in the back of the workshop by the river' }));
    const cut = texts.find((text) => text.endsWith('…'))!;
    expect(texts.slice(texts.indexOf('Creator') + 1, texts.indexOf(cut) + 1).join(' ')).toMatch(
      /^The measuring bench in .*…$/,
    );
  });

  test('balloons of one place stand in a row on one leader', () => {
    const balloons = [1, 2, 3, 4, 5].map((number) => ({ number, at: [40, 40] as const }));
    const elements = elementsOf(writeSvg({ ...bare, balloons }, { scale: 0.5, paper: 'A3' }), 'xml');
    const circles = elements.filter((e) => e.name === 'circle' && e.attributes.r === '4').map((e) => e.attributes);
    expect(circles).toHaveLength(5);
    // Four in the first row, touching; the fifth is a row of its own.
    expect(new Set(circles.slice(0, 4).map(({ cy }) => cy)).size).toBe(1);
    for (const i of [1, 2, 3]) expect(Number(circles[i]!.cx) - Number(circles[i - 1]!.cx)).toBeCloseTo(8, 3);
    const apart = Math.hypot(
      Number(circles[4]!.cx) - Number(circles[3]!.cx),
      Number(circles[4]!.cy) - Number(circles[3]!.cy),
    );
    expect(apart).toBeGreaterThan(8);
  });

  test('a dimension too short for its text has it beyond its end, where it crosses nothing', () => {
    const short = { from: [10, 0], to: [12, 0], text: '2.000' } as const;
    const long = { from: [0, 0], to: [80, 0], text: '80.000' } as const;
    const elements = elementsOf(writeSvg({ ...bare, dimensions: [short, long] }, { paper: 'A4' }), 'xml');
    const placeOf = (text: string) => Number(elements.find((e) => e.name === 'text' && e.text === text)!.attributes.x);
    const left = Math.min(
      ...outlineOf(writeSvg({ ...bare, dimensions: [short, long] }, { paper: 'A4' })).map(([x]) => x!),
    );
    expect(placeOf('80.000') - left).toBeCloseTo(40, 3);
    // Liberation Sans has digits of 0.556 em, an em being the capitals by 0.72: the text is 10.4 mm wide.
    expect(placeOf('2.000') - left).toBeGreaterThan(12 + 10.4 / 2);
  });

  test('over-all sizes go out from the places that lie farthest out, to which an arc belongs', () => {
    // A half disc on a stem: the arc is highest in the middle, between its ends.
    const stem = sectionDrawing(
      across([
        [0, 0],
        [40, 0],
        [40, 10],
        [25, 10],
        [20, 30],
        [15, 10],
        [0, 10],
      ]),
    );
    const [wide, high] = stem.dimensions;
    expect(wide).toMatchObject({ from: [0, 0], along: 'x', text: '(40.0)' });
    expect(wide!.to[0]).toBe(40);
    expect(high).toMatchObject({ to: [20, 30], along: 'y', text: '(30.0)' });
    const arc: Drawing = {
      ...bare,
      shapes: [{ kind: 'arc', line: 'outline', center: [0, 0], radius: 50, start: [40, 30], sweep: 2 }],
    };
    const { toPaper, paper } = laySheet(arc, { paper: 'A3' });
    expect(paper.name).toBe('A3');
    const svg = writeSvg(arc, { paper: 'A3' });
    const [, , top] = /M[\d.]+ ([\d.]+)A([\d.]+)/.exec(svg)!;
    expect(Number(top)).toBe(50);
    // Highest at 50 over the center, lowest at its far end: the free paper is shared above and below.
    const end = 50 * Math.sin(Math.atan2(30, 40) + 2);
    const free = (toPaper([0, 50])[1] + toPaper([0, end])[1]) / 2;
    const plain = laySheet(
      {
        ...bare,
        shapes: [{ kind: 'polyline', line: 'outline', flat: Float64Array.of(-50, end, 50, 50), closed: false }],
      },
      { paper: 'A3' },
    );
    expect(free).toBeCloseTo((plain.toPaper([0, 50])[1] + plain.toPaper([0, end])[1]) / 2, 6);
  });

  test('sizes of a profile stand by the profile, not out by the rest of the section', () => {
    const corners = [
      [0, 0],
      [40, 0],
      [40, 25],
      [0, 25],
    ] as const;
    const section = sectionOf(polygon(corners), { noise: 0.01, seed: 4 });
    const far = across([
      [200, 100],
      [220, 100],
      [220, 120],
      [200, 120],
    ]);
    const both = { ...section, polylines: [...section.polylines, ...far.polylines] };
    const laid = laySheet(sectionDrawing(both, { profiles: [profileOf(section)] }), {});
    const svg = writeSvg(sectionDrawing(both, { profiles: [profileOf(section)] }), {});
    const [edge] = laid.toPaper([40, 0]);
    const upright = elementsOf(svg, 'xml').find((e) => e.name === 'text' && /^2[45]\.\d+ ± 0\.0\d+$/.test(e.text))!;
    expect(Number(upright.attributes.x) - edge).toBeGreaterThan(0);
    expect(Number(upright.attributes.x) - edge).toBeLessThan(12);
  });
});

describe('sheets of the pump', () => {
  const plan = checkPlan(JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')));
  const { scan } = scanPump({ triangles: 150_000 });
  const results = runPlan(plan, scan);
  const sections = results.outcomes.flatMap((o) => (o.kind === 'section' ? [o] : []));
  const drawings: [string, Drawing][] = [
    ...(['top', 'front', 'left'] as const).map((view): [string, Drawing] => [
      view,
      featureDrawing(results, { view, positions: scan.positions, normals: scan.normals! }),
    ]),
    ...sections.map((section): [string, Drawing] => [`section ${section.id}`, outcomeDrawing(section, results, scan)]),
  ];

  test.each(drawings)('%s: no label covers another, all are on the paper, none is left out', (_, drawing) => {
    for (const scale of [1, 'fit'] as const) {
      const { boxes, paper, leftOut } = laySheet(drawing, { scale });
      expect(leftOut).toEqual([]);
      boxes.forEach((a, i) => {
        expect(a.left >= 20 && a.top >= 10 && a.right <= paper.width - 10 && a.bottom <= paper.height - 10).toBe(true);
        for (const b of boxes.slice(i + 1)) {
          const apart = a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;
          expect(apart, JSON.stringify([a, b])).toBe(true);
        }
      });
    }
  });

  test('the holes are as far apart on paper as they were measured', () => {
    const svg = writeSvg(drawings[0]![1]);
    const circles = elementsOf(svg, 'xml').filter((e) => e.name === 'circle' && e.attributes['stroke-width'] === '0.5');
    // The second by its given diameter, not by the pin that goes in.
    const holes = circles.filter((c) => Math.abs(Number(c.attributes.r) - 9) < 0.025);
    expect(holes).toHaveLength(2);
    const [a, b] = holes.map(({ attributes }) => [Number(attributes.cx), Number(attributes.cy)]) as [
      number[],
      number[],
    ];
    const measured = results.sheet.find(({ id }) => id === 'holes-apart')!.values[0]!.value;
    expect(Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!)).toBeCloseTo(measured, 3);
  });

  test('a size several holes have alike is written once, with their number', () => {
    const [, front] = drawings[1]!;
    expect(front.labels.filter(({ text }) => /⌀5 given$/.test(text)).map(({ text }) => text)).toEqual(['5× ⌀5 given']);
  });

  test('sizes stand with their ±, those of a pin say so, and none is told by a zone', () => {
    const [, top] = drawings[0]!;
    const labels = top.labels.map(({ text }) => text);
    expect(labels.filter((text) => / inscribed$/.test(text))).toHaveLength(2);
    for (const text of labels) expect(text).toMatch(/^⌀[\d.]+ (± [\d.]+( inscribed| circumscribed)?|given)$/);
    expect(top.dimensions.map(({ text }) => text)).toEqual([expect.stringMatching(/^162\.\d+ ± 0\.\d+$/)]);
    expect(top.notes).toEqual([expect.stringMatching(/^±: /)]);
  });

  test('the bore is hidden from above and an outline where it is cut along its axis, which is told with its size', () => {
    const lines = ({ shapes }: Drawing, line: string) =>
      shapes.filter((s) => s.line === line && s.kind === 'polyline' && !s.closed && s.flat.length === 4);
    // Two walls for each of the three fits of it.
    expect(lines(drawings[0]![1], 'hidden')).toHaveLength(6);
    const cut = drawings.find(([name]) => name === 'section along-bore')![1];
    // And those of the lever's post and hub, whose axis lies in the same section.
    expect(lines(cut, 'outline')).toHaveLength(10);
    expect(cut.labels[0]!.text).toMatch(/^⌀5[12]\.\d+ ± 0\.\d+$/);
    expect(cut.balloons.map(({ number }) => results.sheet[number - 1]!.id)).toEqual([
      'bore',
      'bore-form',
      'bore-pin',
      'post',
      'hub',
    ]);
  });

  test('the circle bolts stand on is a center line, the holes on it are outlines', () => {
    const circles = drawings[1]![1].shapes.flatMap((s) => (s.kind === 'arc' ? [s] : []));
    const lineOf = (radius: number) => circles.filter((s) => Math.abs(s.radius - radius) < 0.1).map(({ line }) => line);
    expect(lineOf(33)).toEqual(['center']);
    expect(lineOf(2.5)).toEqual(Array(5).fill('outline'));
  });

  test('a section carries the balloons of what is fitted to it, and the axes of its frame though they lean a little', () => {
    const face = drawings.find(([name]) => name === 'section under-face')![1];
    expect(face.balloons).toHaveLength(5);
    expect(face.origin!.axes.map(({ name }) => name)).toEqual(['x', 'z']);
  });

  test('the table has each place with its ±: of an axis where it crosses a plane, of a cone its diameter there', () => {
    const table = drawings[0]![1].table!;
    const rowOf = (id: string) => table.find((cells) => cells[1] === id)!;
    const sheet = (id: string, name: string) =>
      results.sheet.find((row) => row.id === id)!.values.find((value) => value.name === name)!;
    // Crossing x = 289, by the words of its row.
    expect(results.sheet.find(({ id }) => id === 'seal-seat')!.where).toMatch(/crosses x = 289/);
    const [, , x, y, , doubt, diameter] = rowOf('seal-seat');
    expect(x).toBe('289');
    expect(Number(y)).toBeCloseTo(sheet('seal-seat', 'y').value, 2);
    expect(Number(diameter)).toBeCloseTo(sheet('seal-seat', 'diameter').value, 2);
    const widest = Math.max(...['y', 'z'].map((name) => sheet('seal-seat', name).uncertainty!));
    expect(Number(doubt)).toBeCloseTo(widest, 2);
    expect(rowOf('right-hole').slice(-2)).toEqual(['18', 'given']);
    expect(rowOf('right-hole-pin')).toBeUndefined();
  });

  test('results without outcomes cannot be drawn', () => {
    expect(code(() => featureDrawing({ ...results, outcomes: [] }))).toBe('results-without-outcomes');
  });
});
