import { checkPlan, PlanError, type PlanProblem } from '@fettle/geom';
import { expect, test } from 'vitest';

const region = { step: 'region', id: 'feet', box: { min: [0, 0, 0], max: [10, 10, 10] } };
const top = { step: 'fit', id: 'top', shape: 'plane', to: 'feet' };
const front = { step: 'fit', id: 'front', shape: 'plane', to: 'all' };
const hole = { step: 'fit', id: 'hole', shape: 'circle', to: 'feet' };
const bore = { step: 'fit', id: 'bore', shape: 'cylinder', to: 'feet' };
const cut = { step: 'section', id: 'cut', plane: 'top', offset: -2 };
const edge = { step: 'construct', id: 'edge', intersect: ['top', 'front'] };
const corner = { step: 'construct', id: 'corner', point: [0, 0, 0] };
const datum = { step: 'frame', id: 'datum', plane: 'top', line: 'edge', origin: 'corner' };
const before = [region, top, front, hole, bore, cut, edge, corner, datum];

const problems = (plan: unknown): readonly PlanProblem[] => {
  try {
    checkPlan(plan);
    return [];
  } catch (error) {
    if (error instanceof PlanError) return error.problems;
    throw error;
  }
};
const message = (plan: unknown): string => {
  try {
    checkPlan(plan);
  } catch (error) {
    return (error as Error).message;
  }
  return '';
};
const plan = (...steps: unknown[]) => ({ version: 1, title: 'Pump', steps });
/** What is said of one more step after those above: `field: expected …, found …`. */
const said = (step: unknown): string[] =>
  problems(plan(...before, step)).map(({ field, expected, found }) => `${field}: expected ${expected}, found ${found}`);

test('a plan that uses every kind of step is taken as it stands', () => {
  const whole = {
    $schema: './plan.schema.json',
    version: 1,
    title: 'Pump',
    scanner: { accuracy: 0.05, perMeter: 0.1 },
    steps: [
      ...before,
      {
        step: 'region',
        id: 'ball',
        sphere: { center: [0, 0, 0], radius: 30 },
        in: 'datum',
        of: 'feet',
        note: 'by hand',
      },
      { step: 'region', id: 'face', grow: { from: [[0, 0, 0]], turn: 8, spread: 12 }, without: ['ball'] },
      { step: 'region', id: 'above', off: { feature: 'top', min: 12 }, of: 'all' },
      { step: 'region', id: 'few', indices: [0, 5, 7] },
      { step: 'region', id: 'both', join: ['ball', 'few'] },
      { step: 'region', id: 'rest', of: 'both', without: ['few'] },
      { step: 'fit', id: 'wall', shape: 'line', to: 'cut', stretch: { from: [0, 0, 0], to: [9, 0, 0] }, in: 'datum' },
      { step: 'fit', id: 'pin', shape: 'circle', to: 'cut', stretch: { box: { min: [0, 0, 0], max: [9, 9, 9] } } },
      {
        step: 'fit',
        id: 'gauge',
        shape: 'circle',
        to: 'feet',
        plane: 'top',
        criterion: 'maximum-inscribed',
        trim: 0.01,
      },
      { step: 'fit', id: 'shaft', shape: 'cylinder', to: 'ball', known: { diameter: 22, direction: 'top' }, reject: 3 },
      {
        step: 'fit',
        id: 'flat',
        shape: 'plane',
        to: 'face',
        limits: { flatness: { max: 0.1 }, z: { min: -1, max: 1 } },
      },
      { step: 'construct', id: 'mark', project: 'hole', onto: 'top' },
      { step: 'construct', id: 'mid', midplane: ['top', 'front'] },
      { step: 'construct', id: 'apex', intersect: ['bore', 'top'] },
      { step: 'construct', id: 'row', through: ['hole', 'pin'] },
      { step: 'frame', id: 'second', planes: ['top', 'front', 'flat'], plus: { plane: '-z', line: 'y' } },
      { step: 'section', id: 'slice', axis: 'z', at: -12, in: 'datum' },
      { step: 'measure', id: 'gap', distance: ['hole', 'pin'], along: 'x', in: 'datum', limits: { min: 3 } },
      { step: 'measure', id: 'thick', distance: ['top', 'flat'], at: [0, 0, 0] },
      { step: 'measure', id: 'draft', angle: ['front', 'top'] },
      { step: 'deliver', id: 'out', scan: { format: 'ply', in: 'datum' } },
    ],
  };
  expect(checkPlan(whole)).toEqual(whole);
});

test('every problem is listed at once, each with its step, field, what was expected and what was found', () => {
  const bad = {
    version: 2,
    steps: [
      { ...region, box: { min: [0, 0, 0], max: [10, 10, '10'] } },
      { ...top, shape: 'plain', rejct: 3 },
      { step: 'measure', id: 'Gap', distance: ['top', 'feet'] },
    ],
  };
  expect(message(bad).split('\n')).toEqual([
    'The plan has 6 errors.',
    '  plan, version: expected 1, found 2',
    '  plan, title: expected a text, found nothing',
    '  feet, box.max[2]: expected a number, found "10"',
    '  top, shape: expected "plane", "line", "circle", "sphere", "cylinder", "cone", "slot" or "ellipse", found "plain"; did you mean "plane"?',
    '  top, rejct: expected a known field, found "rejct"; did you mean "reject"?',
    '  step 3, id: expected an id: small letters and digits, words joined by single hyphens (left-foot, hole-2), found "Gap"',
  ]);
  expect(message(plan({ ...region, id: 7 }))).toBe('The plan is not valid. step 1, id: expected a text, found 7');
});

test('the code is plan-invalid', () => {
  expect(() => checkPlan([])).toThrow(expect.objectContaining({ code: 'plan-invalid', name: 'FettleError' }));
});

test('what is no plan at all is refused', () => {
  expect(message(undefined)).toBe('The plan is not valid. plan: expected an object, found nothing');
  expect(message({ version: 1, title: 'Pump' })).toContain(
    'plan, steps: expected a list of at least one step, found nothing',
  );
  expect(message(plan())).toContain('found an empty list');
  expect(message(plan(7))).toContain('step 1: expected an object, found 7');
});

test('a misspelled field of the plan, the scanner and a nested object is told with the nearest', () => {
  expect(message({ ...plan(region), scaner: {} })).toContain(
    'plan, scaner: expected a known field, found "scaner"; did you mean "scanner"?',
  );
  expect(message({ ...plan(region), scanner: { acuracy: 1 } })).toBe(
    'The plan is not valid. plan, scanner.acuracy: expected a known field, found "acuracy"; did you mean "accuracy"?',
  );
  expect(said({ step: 'region', id: 'r', grow: { from: [[0, 0, 0]], turns: 8, spread: 12 } })).toEqual([
    'grow.turns: expected a known field, found "turns"; did you mean "turn"?',
  ]);
  expect(said({ ...top, id: 't', stretch: { from: [0, 0, 0], too: [1, 0, 0] } })).toEqual([
    'stretch.too: expected a known field, found "too"; did you mean "to"?',
  ]);
  expect(said({ ...corner, id: 'c', colour: 'red' })).toEqual([
    'colour: expected one of the fields step, id, note, optional, limits, point, in, found "colour"',
  ]);
});

test('an unknown kind of step, and a step told by no field or by two', () => {
  expect(said({ step: 'regoin', id: 'r' })).toEqual([
    'step: expected one of prepare, region, fit, construct, frame, section, measure, by-hand or deliver, found "regoin"; did you mean "region"?',
  ]);
  expect(said({ id: 'r' })).toEqual([
    'step: expected one of prepare, region, fit, construct, frame, section, measure, by-hand or deliver, found nothing',
  ]);
  expect(said({ step: 'region', id: 'r', boks: {} })).toEqual([
    ': expected one of box, sphere, grow, brush, outline, off, indices, join or of, found "boks"; did you mean "box"?',
  ]);
  expect(said({ step: 'measure', id: 'm' })).toEqual([
    ': expected one of distance, angle, parallelism, perpendicularity, position, coaxiality, symmetry, coplanarity or stepHeight, found none',
  ]);
  expect(said({ step: 'measure', id: 'm', distance: ['top', 'front'], angle: ['top', 'front'] })).toEqual([
    ': expected one of distance, angle, parallelism, perpendicularity, position, coaxiality, symmetry, coplanarity or stepHeight, found distance and angle',
  ]);
});

test('an unknown reference suggests the nearest id; a later one is told to be later', () => {
  expect(said({ ...top, id: 't', to: 'foot' })).toEqual([
    'to: expected an earlier id of a region or a section, found "foot", which no step is called; did you mean "feet"?',
  ]);
  expect(said({ ...edge, id: 'e', intersect: ['tpo', 'quite-another'] })).toEqual([
    'intersect[0]: expected an earlier id of a plane, a line, a circle, a cylinder, a cone, a slot or an ellipse, found "tpo", which no step is called; did you mean "top"?',
    'intersect[1]: expected an earlier id of a plane, a line, a circle, a cylinder, a cone, a slot or an ellipse, found "quite-another", which no step is called',
  ]);
  expect(message(plan(top, region))).toBe(
    'The plan is not valid. top, to: expected an earlier id of a region or a section, found "feet", which comes later',
  );
  expect(message(plan({ ...edge, intersect: ['edge', 'edge'] }))).toContain('found "edge", which comes later');
});

test('what is referred to must be of a kind the step can use', () => {
  const cases: readonly [step: object, complaint: string][] = [
    [{ ...top, to: 'front' }, 'to: expected a region or a section, found "front", a plane'],
    [{ ...hole, plane: 'bore' }, 'plane: expected a plane, a circle, a slot or an ellipse, found "bore", a cylinder'],
    [
      { ...bore, known: { direction: 'feet' } },
      'known.direction: expected a plane, a line, a circle, a cylinder, a cone, a slot or an ellipse, found "feet", a region',
    ],
    [{ ...region, in: 'top' }, 'in: expected a frame, found "top", a plane'],
    [{ ...region, without: ['cut'] }, 'without[0]: expected a region, found "cut", a section'],
    [{ ...datum, line: 'hole' }, 'line: expected a line, a cylinder, a cone or a plane, found "hole", a circle'],
    [
      { ...datum, origin: 'top' },
      'origin: expected a point, a circle, a sphere, a cone, a slot, an ellipse, a line or a cylinder, found "top", a plane',
    ],
    [{ ...cut, plane: 'edge' }, 'plane: expected a plane, a circle, a slot or an ellipse, found "edge", a line'],
    [
      { step: 'measure', distance: ['corner', 'datum'] },
      'distance[1]: expected a plane, a line, a point, a circle, a sphere, a cylinder, a cone, a slot or an ellipse, found "datum", a frame',
    ],
    [
      { step: 'measure', angle: ['corner', 'top'] },
      'angle[0]: expected a plane, a line, a circle, a cylinder, a cone, a slot or an ellipse, found "corner", a point',
    ],
    [
      { step: 'measure', distance: ['bore', 'hole'], along: 'x' },
      'distance[0]: expected a point, a circle, a sphere, a cone, a slot or an ellipse, found "bore", a cylinder',
    ],
    [
      { step: 'measure', distance: ['bore', 'top'], at: [0, 0, 0] },
      'at: expected no point unless both features are planes, found a cylinder and a plane',
    ],
    [
      { step: 'construct', project: 'top', onto: 'top' },
      'project: expected a point, a circle, a sphere, a cone, a slot or an ellipse, found "top", a plane',
    ],
    [{ step: 'construct', midplane: ['top', 'edge'] }, 'midplane[1]: expected a plane, found "edge", a line'],
    [
      { step: 'construct', intersect: ['top', 'edge', 'front'] },
      'intersect: expected two planes, three planes, a plane and an axis, or two axes, found top (plane), edge (line), front (plane)',
    ],
    [{ step: 'deliver', scan: { format: 'ply', in: 'edge' } }, 'scan.in: expected a frame, found "edge", a line'],
  ];
  for (const [step, complaint] of cases) expect(said({ ...step, id: 'x' })).toEqual([complaint]);
});

test('choices of a fit that contradict each other', () => {
  const cases: readonly [step: object, complaint: string][] = [
    [{ ...top, criterion: 'maximum-inscribed' }, 'criterion: expected only with circle or cylinder, found shape plane'],
    [
      { ...top, shape: 'cone', criterion: 'minimum-zone' },
      'criterion: expected only with plane, line, circle, sphere or cylinder, found shape cone',
    ],
    [
      { ...top, known: { radius: 3 } },
      'known.radius: expected only with circle, sphere or cylinder, found shape plane',
    ],
    [
      { ...hole, known: { radius: 3, diameter: 6 } },
      'known: expected radius or diameter, not both, found {"radius":3,"diameter":6}',
    ],
    [{ ...hole, known: {} }, 'known: expected radius, diameter, direction or halfAngle, found an empty object'],
    [{ ...hole, known: { direction: 5 } }, 'known.direction: expected a text or a list, found 5'],
    [{ ...top, plane: 'front' }, 'plane: expected only with circle, slot or ellipse, found shape plane'],
    [{ ...top, trim: 0.1 }, 'trim: expected a criterion that touches extreme points, found least-squares'],
    [{ ...top, trim: 0.5, criterion: 'minimum-zone' }, 'trim: expected a number, less than 0.5, found 0.5'],
    [{ ...top, to: 'cut' }, 'to: expected only with circle, slot, ellipse or line, found shape plane'],
    [{ ...hole, stretch: { from: [0, 0, 0], to: [1, 1, 1] } }, 'stretch: expected a section in to, found a region'],
    [{ ...hole, in: 'datum' }, 'in: expected coordinates in this step: a stretch or a known direction, found none'],
    [
      { ...hole, known: { radius: 3 }, criterion: 'minimum-zone' },
      'known.radius: expected the criterion least-squares, found minimum-zone',
    ],
    [{ ...hole, reject: 0 }, 'reject: expected a number, more than 0, found 0'],
    [{ ...hole, robust: 'yes' }, 'robust: expected true or false, found "yes"'],
  ];
  for (const [step, complaint] of cases) expect(said({ ...step, id: 'x' })).toEqual([complaint]);
});

test('limits must be on values the row will have, the right way round', () => {
  expect(said({ ...hole, id: 'h', limits: { diametre: { max: 3 } } })).toEqual([
    'limits.diametre: expected one of x, y, z, diameter, angle-x, angle-y, angle-z, rms, form, roundness, found "diametre"; did you mean "diameter"?',
  ]);
  expect(said({ ...corner, id: 'c', limits: { diameter: { max: 3 } } })).toEqual([
    'limits.diameter: expected one of x, y, z, found "diameter"',
  ]);
  expect(said({ step: 'measure', id: 'm', distance: ['hole', 'corner'], limits: { min: 2, max: 1 } })).toEqual([
    'limits: expected min no larger than max, found {"min":2,"max":1}',
  ]);
  expect(said({ step: 'measure', id: 'm', distance: ['hole', 'corner'], limits: {} })).toEqual([
    'limits: expected min, max or both, found an empty object',
  ]);
});

test('ids are used once, and words with a meaning are no ids', () => {
  expect(said({ ...top })).toEqual(['id: expected an id of its own, found "top", used before']);
  expect(said({ ...corner, id: 'all' })).toEqual([
    'id: expected another id: this word has a meaning of its own, found "all"',
  ]);
});

test('a step in error is not blamed again where it is used', () => {
  expect(problems(plan({ ...region, box: 5 }, top, { ...front, to: 'feet' }))).toHaveLength(1);
});

test('numbers no JSON document can hold are refused all the same', () => {
  expect(said({ ...corner, id: 'c', point: [0, Number.NaN, Number.POSITIVE_INFINITY] })).toEqual([
    'point[1]: expected a number, found NaN',
    'point[2]: expected a number, found Infinity',
  ]);
});

test('axes of a frame: unknown, or the same twice', () => {
  expect(said({ ...datum, id: 'd', plus: { plane: 'w', line: 'x' } })).toEqual([
    'plus.plane: expected "x", "y", "z", "-x", "-y" or "-z", found "w"',
  ]);
  expect(said({ ...datum, id: 'd', plus: { plane: 'z', line: '-z' } })).toEqual([
    'plus: expected two different axes, found {"plane":"z","line":"-z"}',
  ]);
});

test('a thing named twice in one list is refused: it has no distance from itself', () => {
  expect(said({ step: 'measure', id: 'nil', distance: ['bore', 'bore'] })).toEqual([
    'distance[1]: expected another id than those before it, found "bore" again',
  ]);
  expect(said({ step: 'construct', id: 'nil', intersect: ['top', 'front', 'top'] })).toEqual([
    'intersect[2]: expected another id than those before it, found "top" again',
  ]);
  expect(said({ step: 'construct', id: 'meet', intersect: ['top', 'front'] })).toEqual([]);
});

test('the scanner’s scale has one name: the earlier one is read, but not beside it', () => {
  const stating = (scanner: unknown) => problems({ ...plan(...before), scanner });
  expect(stating({ accuracy: 0.02, perMetre: 0.03 })).toEqual([]);
  expect(stating({ accuracy: 0.02, perMeter: 0.03, perMetre: 0.03 })).toEqual([
    { step: 'plan', field: 'scanner.perMetre', expected: 'perMeter alone, its present name', found: '0.03' },
  ]);
});

test('texts have a largest length, and what is longer is told with its letters', () => {
  const letters = (n: number) => 'a'.repeat(n);
  const inHead = (head: object) =>
    problems({ ...plan(...before), ...head }).map(
      ({ field, expected, found }) => `${field}: expected ${expected}, found ${found}`,
    );
  const start = `"${letters(39)}…"`;
  const note = `note: expected at most 2000 letters, found ${start}, 2001 letters`;
  expect(inHead({ title: letters(300_000) })).toEqual([
    `title: expected at most 200 letters, found ${start}, 300000 letters`,
  ]);
  expect(inHead({ scanner: { accuracy: 0.1, note: letters(2001) } })).toEqual([`scanner.${note}`]);
  expect(said({ ...region, id: letters(201) })).toEqual([
    `id: expected at most 200 letters, found ${start}, 201 letters`,
  ]);
  expect(said({ ...region, id: 'b', note: letters(2001) })).toEqual([note]);
  expect(said({ ...top, id: 'b', to: letters(201) })).toEqual([
    `to: expected at most 200 letters, found ${start}, 201 letters`,
  ]);
  expect(said({ step: 'deliver', id: 'b', report: { creator: letters(201) } })).toEqual([
    `report.creator: expected at most 200 letters, found ${start}, 201 letters`,
  ]);
  expect(inHead({ title: letters(200), scanner: { accuracy: 0.1, note: letters(2000) } })).toEqual([]);
  expect(said({ ...region, id: letters(200), note: letters(2000) })).toEqual([]);
});

test('a field of a long name is not told whole', () => {
  for (const { found } of problems({ ...plan({ ...region, ['a'.repeat(300_000)]: 1 }), ['b'.repeat(300_000)]: 1 }))
    expect(found.length).toBeLessThan(60);
});
