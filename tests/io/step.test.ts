import { FettleError } from '@fettle/geom';
import { bytesOf, type StepItem, type StepOptions, writeStep } from '@fettle/io';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseStepFile, type StepFile, type Value } from './step-file.js';
import { everyKind } from './step-items.js';
import { offences } from './step-schema.js';

const date = new Date('2026-03-14T15:09:26Z');
const fileOf = (items: readonly StepItem[], options: StepOptions = {}): StepFile =>
  parseStepFile(bytesOf(writeStep(items, { date, ...options })));

const point = (name: string): StepItem => ({ kind: 'point', name, position: [1, 2, 3] });
const names = ({ instances }: StepFile, type: string): unknown[] =>
  [...instances.values()]
    .filter(({ entities }) => entities[0]!.type === type)
    .map(({ entities }) => value(entities[0]!.attributes[0]!));
const value = (v: Value): unknown => ('value' in v ? (v.is === 'list' ? v.value.map(value) : v.value) : undefined);

describe('A file follows ISO 10303-21 and its schema', () => {
  for (const parts of ['each', 'one'] as const)
    for (const schema of ['ap214', 'ap242'] as const)
      test(`with every kind of item, parts: ${parts}, ${schema}`, () => {
        const file = fileOf(everyKind, { parts, schema });
        expect(offences(file)).toEqual([]);
        expect(file.instances.size).toBeGreaterThan(500);
        expect(names(file, 'PRODUCT')).toHaveLength(parts === 'each' ? everyKind.length + 1 : 1);
        expect(value(file.header[2]!.attributes[0]!)).toEqual([
          // Names and object identifiers of the schemas: from memory of ISO 10303-214 and -242.
          schema === 'ap214'
            ? 'AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'
            : 'AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }',
        ]);
      });

  test('each kind alone', () => {
    for (const item of everyKind) expect(offences(fileOf([item]))).toEqual([]);
  });

  test('the check finds what is wrong', () => {
    const text = new TextDecoder().decode(bytesOf(writeStep(everyKind, { date })));
    const offencesOf = (from: string | RegExp, to: string) => {
      expect(text).toMatch(from);
      return offences(parseStepFile(new TextEncoder().encode(text.replace(from, to))));
    };
    expect(offencesOf(/CIRCLE\('',(#\d+),[\d.]+\)/, "CIRCLE('',$1,0.)")[0]).toMatch(
      /CIRCLE, attribute 3: expected r\+/,
    );
    expect(offencesOf(/VERTEX_POINT\('',#\d+\)/, "VERTEX_POINT('',#999999)").join()).toMatch(
      /names #999999, which is not there/,
    );
    expect(offencesOf(/\.T\.\);\n(#\d+=EDGE_LOOP)/, '.F.);\n$1').join()).toMatch(/EDGE_LOOP: is not closed/);
    expect(offencesOf('DIRECTION(', "DIRECTION('',").join()).toMatch(/3 attributes, not 2/);
    const refused = (from: string, to: string) => () => parseStepFile(new TextEncoder().encode(text.replace(from, to)));
    expect(refused("CARTESIAN_POINT('',(0.,", "CARTESIAN_POINT('',(.5,")).toThrow(/expected/);
    expect(refused('#2=', '#1=')).toThrow(/#1 is there twice/);
    expect(refused("'features'", "'features")).toThrow(/expected/);
    expect(refused('ENDSEC;\nDATA', 'DATA')).toThrow(/expected/);
  });
});

test('the header tells product, date and tool', () => {
  const { header } = fileOf([point('a')], { product: 'Pump', author: 'A. Person', organization: 'Shop' });
  expect(header[0]!.attributes.map(value)).toEqual([['Pump: features measured on a scan, mm'], '2;1']);
  expect(header[1]!.attributes.map(value)).toEqual([
    'Pump.step',
    '2026-03-14T15:09:26+00:00',
    ['A. Person'],
    ['Shop'],
    expect.stringMatching(/^Fettle \d/),
    expect.stringMatching(/^Fettle \d/),
    '',
  ]);
});

test('with a date given the same items give the same bytes, and pieces can be gone through again', () => {
  const chunks = writeStep(everyKind, { date });
  expect(bytesOf(chunks)).toEqual(bytesOf(chunks));
  expect(bytesOf(writeStep(everyKind, { date }))).toEqual(bytesOf(chunks));
});

describe('Strings are written as clause 6.4.3 has it', () => {
  // Encodings worked out by hand from the rules, remembered: ü is U+00FC, Ω U+03A9, 🚲 U+1F6B2.
  test.each([
    ['left-hole', "'left-hole'"],
    ["maker's", "'maker''s'"],
    ['a\\b', "'a\\\\b'"],
    ['Prüfung', "'Pr\\X2\\00FC\\X0\\fung'"],
    ['üΩ x', "'\\X2\\00FC03A9\\X0\\ x'"],
    ['🚲', "'\\X4\\0001F6B2\\X0\\'"],
    ['é🚲é', "'\\X2\\00E9\\X0\\\\X4\\0001F6B2\\X0\\\\X2\\00E9\\X0\\'"],
    ['two\nlines', "'two\\X\\0Alines'"],
    ['half \ud83d', "'half \\X2\\FFFD\\X0\\'"],
  ])('%j', (name, text) => {
    const bytes = bytesOf(writeStep([point(name)], { date }));
    expect(new TextDecoder().decode(bytes)).toContain(`GEOMETRIC_CURVE_SET(${text},`);
  });

  test('any name reads back, in bytes below 128 only', () => {
    // All in one file: to write and read a file takes far longer than a name.
    const any = new Set(fc.sample(fc.string({ unit: 'binary', minLength: 1 }), { numRuns: 200, seed: 1 }));
    expect(any.size).toBeGreaterThan(180);
    const bytes = bytesOf(writeStep([...any].map(point), { date, parts: 'one' }));
    expect(bytes.every((b) => b < 0x7f)).toBe(true);
    expect(names(parseStepFile(bytes), 'GEOMETRIC_CURVE_SET')).toEqual([...any]);
  });
});

test('any double reads back as the same', () => {
  fc.assert(
    fc.property(fc.tuple(...[1, 2, 3].map(() => fc.double({ noNaN: true, noDefaultInfinity: true }))), (position) => {
      const [x, y, z] = position as [number, number, number];
      const { instances } = fileOf([{ kind: 'point', name: 'far-off', position: [x, y, z] }], { parts: 'one' });
      const points = [...instances.values()].map(({ entities: [e] }) => e!).filter((e) => e.type === 'CARTESIAN_POINT');
      const found = points.find(({ attributes: [name] }) => value(name!) === 'far-off');
      // The sign of zero says nothing about a place.
      expect(value(found!.attributes[1]!)).toEqual([x, y, z].map((c) => (c === 0 ? 0 : c)));
    }),
    { numRuns: 300, seed: 1 },
  );
});

describe('What no CAD program could open is refused, by name', () => {
  const line: StepItem = { kind: 'line', name: 'edge', point: [0, 0, 0], direction: [1, 0, 0], span: [0, 1] };
  const circle: StepItem = { kind: 'circle', name: 'hole', center: [0, 0, 0], normal: [0, 0, 1], radius: 4 };
  const cone: StepItem = {
    kind: 'cone',
    name: 'seat',
    apex: [0, 0, 0],
    direction: [0, 0, 1],
    halfAngle: 0.5,
    span: [1, 2],
  };
  const cylinder: StepItem = {
    kind: 'cylinder',
    name: 'bore',
    point: [0, 0, 0],
    direction: [0, 0, 1],
    radius: 4,
    span: [0, 1],
  };
  const sphere: StepItem = { kind: 'sphere', name: 'knob', center: [0, 0, 0], radius: 4 };
  const slot: StepItem = {
    ...circle,
    kind: 'slot',
    name: 'slot',
    direction: [1, 0, 0],
    length: 9,
    width: 4,
  } as StepItem;
  const wire = (...pieces: Extract<StepItem, { kind: 'wire' }>['chains'][number]): StepItem => ({
    kind: 'wire',
    name: 'outline',
    chains: [pieces],
  });

  test.each<[string, readonly StepItem[], string, RegExp]>([
    ['nothing', [], 'no-items', /nothing to write/],
    ['no name', [point('a'), point('')], 'no-name', /item 1 of 2 items has no name/],
    ['a name twice', [point('a'), line, point('a')], 'name-taken', /items 0 and 2 are both named "a"/],
    [
      'a coordinate that is no number',
      [{ kind: 'point', name: 'a', position: [0, Number.NaN, 0] }],
      'not-finite',
      /a: its position is no number: 0, NaN, 0/,
    ],
    ['no list', {} as StepItem[], 'no-items', /nothing to write/],
    ['no item', [null as unknown as StepItem], 'kind-unknown', /item 0 of 1 item is of the kind "undefined"/],
    [
      'a kind that is none',
      [{ kind: 'blob', name: 'a' } as unknown as StepItem],
      'kind-unknown',
      /the kind "blob". It can be plane, cylinder, .* frame or wire/,
    ],
    [
      'a plane without a size',
      [{ kind: 'plane', name: 'a', point: [0, 0, 0], normal: [0, 0, 1], along: [1, 0, 0] } as unknown as StepItem],
      'value-missing',
      /a: it has no size, a length and a width/,
    ],
    [
      'a flat point',
      [{ kind: 'point', name: 'a', position: [1, 2] } as unknown as StepItem],
      'value-missing',
      /2 numbers/,
    ],
    ['a wire of nothing', [{ kind: 'wire', name: 'a' } as unknown as StepItem], 'value-missing', /no chains/],
    ['an endless line', [{ ...line, span: [0, Infinity] }], 'not-finite', /span/],
    ['no length', [{ ...line, span: [3, 3] }], 'span-empty', /from 3 to 3 mm/],
    ['a line backwards', [{ ...line, span: [3, 2] }], 'span-empty', /from 3 to 2 mm/],
    ['a radius of 0', [{ ...circle, radius: 0 }], 'size-not-positive', /hole: its radius is 0 mm/],
    ['a negative radius', [{ ...sphere, radius: -1 }], 'size-not-positive', /knob: its radius is -1 mm/],
    [
      'a direction that is no unit',
      [{ ...line, direction: [2, 0, 0] }],
      'not-unit',
      /its direction has length 2, not 1/,
    ],
    ['a cone before its apex', [{ ...cone, span: [-1, 2] }], 'span-empty', /1 mm before its apex/],
    ['a flat cone', [{ ...cone, halfAngle: Math.PI / 2 }], 'angle-out-of-range', /half-angle/],
    ['a turn about nothing', [{ ...cylinder, turn: { start: [0, 0, 3], sweep: 1 } }], 'not-square', /start of turn/],
    [
      'a full turn as part of one',
      [{ ...cylinder, turn: { start: [1, 0, 0], sweep: 7 } }],
      'angle-out-of-range',
      /sweep is 7/,
    ],
    [
      'a cap past the sphere',
      [{ ...sphere, cap: { toward: [0, 0, 1], halfAngle: 4 } }],
      'angle-out-of-range',
      /cap is 4/,
    ],
    ['a slot wider than long', [{ ...slot, length: 3 } as StepItem], 'size-not-positive', /3 mm long and 4 mm wide/],
    [
      'a slot out of its plane',
      [{ ...slot, direction: [0, 0.6, 0.8] } as StepItem],
      'not-square',
      /normal and direction/,
    ],
    ['an empty wire', [wire()], 'no-items', /no pieces/],
    [
      'a broken wire',
      [wire({ kind: 'line', start: [0, 0, 0], end: [1, 0, 0] }, { kind: 'line', start: [1.5, 0, 0], end: [2, 0, 0] })],
      'wire-broken',
      /piece 1 starts 0.5 mm from where piece 0 ends/,
    ],
  ])('%s', (_, items, code, message) => {
    const attempt = () => writeStep(items);
    expect(attempt).toThrow(FettleError);
    expect(attempt).toThrow(message);
    expect(attempt).toThrow(expect.objectContaining({ code }));
  });
});
