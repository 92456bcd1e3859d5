import type { Entity, Instance, StepFile, Value } from './step-file.js';

/**
 * Attributes of the entities our files use, in order, as ISO 10303-41 (products, contexts, units), -42 (geometry and topology),
 * -43 (representations), -44 (assemblies) and the AP214 and AP242 schemas have them; listed from memory. One word an attribute: `s`
 * string, `r` real, `r+` positive real, `i` integer, `b` `.T.` or `.F.`, `*` derived in a subtype, a name in capitals a reference to an
 * instance of that type or a type under it, `[X 1 ?]` a list of X with its fewest and most members, `{A B}` one of some words, a trailing
 * `?` optional.
 */
const entities: Readonly<Record<string, readonly string[]>> = {
  APPLICATION_CONTEXT: ['s'],
  APPLICATION_PROTOCOL_DEFINITION: ['s', 's', 'i', 'APPLICATION_CONTEXT'],
  PRODUCT_CONTEXT: ['s', 'APPLICATION_CONTEXT', 's'],
  PRODUCT: ['s', 's', 's', '[PRODUCT_CONTEXT 1 ?]'],
  PRODUCT_RELATED_PRODUCT_CATEGORY: ['s', 's?', '[PRODUCT 1 ?]'],
  PRODUCT_DEFINITION_FORMATION: ['s', 's', 'PRODUCT'],
  PRODUCT_DEFINITION_CONTEXT: ['s', 'APPLICATION_CONTEXT', 's'],
  PRODUCT_DEFINITION: ['s', 's', 'PRODUCT_DEFINITION_FORMATION', 'PRODUCT_DEFINITION_CONTEXT'],
  PRODUCT_DEFINITION_SHAPE: ['s', 's', 'CHARACTERIZED'],
  NEXT_ASSEMBLY_USAGE_OCCURRENCE: ['s', 's', 's', 'PRODUCT_DEFINITION', 'PRODUCT_DEFINITION', 's?'],
  SHAPE_DEFINITION_REPRESENTATION: ['PRODUCT_DEFINITION_SHAPE', 'SHAPE_REPRESENTATIONS'],
  CONTEXT_DEPENDENT_SHAPE_REPRESENTATION: ['SHAPE_REPRESENTATION_RELATIONSHIP', 'PRODUCT_DEFINITION_SHAPE'],
  ITEM_DEFINED_TRANSFORMATION: ['s', 's', 'AXIS2_PLACEMENT_3D', 'AXIS2_PLACEMENT_3D'],

  SHAPE_REPRESENTATION: ['s', '[AXIS2_PLACEMENT_3D 1 ?]', 'GEOMETRIC_REPRESENTATION_CONTEXT'],
  MANIFOLD_SURFACE_SHAPE_REPRESENTATION: ['s', '[SHELL_BASED_SURFACE_MODEL 1 ?]', 'GEOMETRIC_REPRESENTATION_CONTEXT'],
  GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION: [
    's',
    '[GEOMETRIC_CURVE_SET 1 ?]',
    'GEOMETRIC_REPRESENTATION_CONTEXT',
  ],
  SHAPE_REPRESENTATION_RELATIONSHIP: ['s', 's', 'SHAPE_REPRESENTATIONS', 'SHAPE_REPRESENTATIONS'],

  UNCERTAINTY_MEASURE_WITH_UNIT: ['LENGTH_MEASURE', 'LENGTH_UNIT', 's', 's'],

  CARTESIAN_POINT: ['s', '[r 3 3]'],
  DIRECTION: ['s', '[r 3 3]'],
  VECTOR: ['s', 'DIRECTION', 'r+'],
  AXIS2_PLACEMENT_3D: ['s', 'CARTESIAN_POINT', 'DIRECTION?', 'DIRECTION?'],
  LINE: ['s', 'CARTESIAN_POINT', 'VECTOR'],
  CIRCLE: ['s', 'AXIS2_PLACEMENT_3D', 'r+'],
  ELLIPSE: ['s', 'AXIS2_PLACEMENT_3D', 'r+', 'r+'],
  TRIMMED_CURVE: ['s', 'CURVE', '[TRIM 1 2]', '[TRIM 1 2]', 'b', '{CARTESIAN PARAMETER UNSPECIFIED}'],
  COMPOSITE_CURVE_SEGMENT: [
    '{DISCONTINUOUS CONTINUOUS CONT_SAME_GRADIENT CONT_SAME_GRADIENT_SAME_CURVATURE}',
    'b',
    'BOUNDED_CURVE',
  ],
  COMPOSITE_CURVE: ['s', '[COMPOSITE_CURVE_SEGMENT 1 ?]', '{T F U}'],
  GEOMETRIC_CURVE_SET: ['s', '[POINT_OR_CURVE 1 ?]'],

  PLANE: ['s', 'AXIS2_PLACEMENT_3D'],
  CYLINDRICAL_SURFACE: ['s', 'AXIS2_PLACEMENT_3D', 'r+'],
  CONICAL_SURFACE: ['s', 'AXIS2_PLACEMENT_3D', 'r+', 'r+'],
  SPHERICAL_SURFACE: ['s', 'AXIS2_PLACEMENT_3D', 'r+'],

  VERTEX_POINT: ['s', 'CARTESIAN_POINT'],
  EDGE_CURVE: ['s', 'VERTEX_POINT', 'VERTEX_POINT', 'CURVE', 'b'],
  ORIENTED_EDGE: ['s', '*', '*', 'EDGE_CURVE', 'b'],
  EDGE_LOOP: ['s', '[ORIENTED_EDGE 1 ?]'],
  FACE_OUTER_BOUND: ['s', 'EDGE_LOOP', 'b'],
  ADVANCED_FACE: ['s', '[FACE_OUTER_BOUND 1 ?]', 'SURFACE', 'b'],
  OPEN_SHELL: ['s', '[ADVANCED_FACE 1 ?]'],
  CLOSED_SHELL: ['s', '[ADVANCED_FACE 1 ?]'],
  SHELL_BASED_SURFACE_MODEL: ['s', '[SHELL 1 ?]'],
};

/** Types above others. */
const supertypes: Readonly<Record<string, readonly string[]>> = {
  CHARACTERIZED: ['PRODUCT_DEFINITION', 'NEXT_ASSEMBLY_USAGE_OCCURRENCE'],
  SHAPE_REPRESENTATIONS: [
    'SHAPE_REPRESENTATION',
    'MANIFOLD_SURFACE_SHAPE_REPRESENTATION',
    'GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION',
  ],
  BOUNDED_CURVE: ['TRIMMED_CURVE', 'COMPOSITE_CURVE'],
  CURVE: ['LINE', 'CIRCLE', 'ELLIPSE', 'TRIMMED_CURVE', 'COMPOSITE_CURVE'],
  // A line without ends is no curve of a bounded wireframe (10303-510).
  POINT_OR_CURVE: ['CARTESIAN_POINT', 'CIRCLE', 'ELLIPSE', 'TRIMMED_CURVE', 'COMPOSITE_CURVE'],
  SURFACE: ['PLANE', 'CYLINDRICAL_SURFACE', 'CONICAL_SURFACE', 'SPHERICAL_SURFACE'],
  SHELL: ['OPEN_SHELL', 'CLOSED_SHELL'],
};

/** Instances of several types: their types in alphabetical order (external mapping), each with its own attributes. */
const complexes: readonly (readonly (readonly [type: string, attributes: readonly string[]])[])[] = [
  [
    ['LENGTH_UNIT', []],
    ['NAMED_UNIT', ['*']],
    ['SI_UNIT', ['{MILLI}', '{METRE}']],
  ],
  [
    ['NAMED_UNIT', ['*']],
    ['PLANE_ANGLE_UNIT', []],
    ['SI_UNIT', ['-', '{RADIAN}']],
  ],
  [
    ['NAMED_UNIT', ['*']],
    ['SI_UNIT', ['-', '{STERADIAN}']],
    ['SOLID_ANGLE_UNIT', []],
  ],
  [
    ['GEOMETRIC_REPRESENTATION_CONTEXT', ['i']],
    ['GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT', ['[UNCERTAINTY_MEASURE_WITH_UNIT 1 ?]']],
    ['GLOBAL_UNIT_ASSIGNED_CONTEXT', ['[NAMED_UNIT 3 3]']],
    ['REPRESENTATION_CONTEXT', ['s', 's']],
  ],
  [
    ['REPRESENTATION_RELATIONSHIP', ['s', 's', 'SHAPE_REPRESENTATIONS', 'SHAPE_REPRESENTATIONS']],
    ['REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION', ['ITEM_DEFINED_TRANSFORMATION']],
    ['SHAPE_REPRESENTATION_RELATIONSHIP', []],
  ],
];

/** Types nothing else need name. */
const roots: readonly string[] = [
  'APPLICATION_PROTOCOL_DEFINITION',
  'PRODUCT_RELATED_PRODUCT_CATEGORY',
  'SHAPE_DEFINITION_REPRESENTATION',
  'SHAPE_REPRESENTATION_RELATIONSHIP',
  'CONTEXT_DEPENDENT_SHAPE_REPRESENTATION',
];

/** What a file does against the schemas: `#12 CIRCLE, attribute 3: expected r+, found 0`. None: it conforms. */
export function offences({ header, instances }: StepFile): string[] {
  const found: string[] = headerOffences(header);
  const named = new Set<number>();
  for (const [name, instance] of instances) {
    const say = (entity: string, i: number, expected: string, value: Value) =>
      found.push(`#${name} ${entity}, attribute ${i + 1}: expected ${expected}, found ${JSON.stringify(value)}`);
    const expected = attributesOf(instance);
    if (expected === undefined) {
      found.push(`#${name}: no such entity: ${instance.entities.map((e) => e.type).join(' ')}`);
      continue;
    }
    instance.entities.forEach((entity, e) => {
      const wanted = expected[e]!;
      if (entity.attributes.length !== wanted.length)
        found.push(`#${name} ${entity.type}: ${entity.attributes.length} attributes, not ${wanted.length}`);
      entity.attributes.forEach((value, i) => {
        if (!fits(value, wanted[i] ?? '', instances)) say(entity.type, i, wanted[i] ?? 'nothing', value);
        for (const r of references(value)) {
          named.add(r);
          if (!instances.has(r)) found.push(`#${name} names #${r}, which is not there`);
        }
      });
    });
  }
  for (const [name, { entities: parts }] of instances)
    if (!named.has(name) && !parts.some(({ type }) => roots.includes(type)))
      found.push(`#${name} ${parts[0]!.type} is named by nothing`);
  // Rules speak of attributes that are there.
  return found.length > 0 ? found : ruleOffences(instances);
}

function headerOffences(header: readonly Entity[]): string[] {
  const wanted: readonly (readonly [string, readonly string[]])[] = [
    ['FILE_DESCRIPTION', ['[s 1 ?]', 's']],
    ['FILE_NAME', ['s', 's', '[s 1 ?]', '[s 1 ?]', 's', 's', 's']],
    ['FILE_SCHEMA', ['[s 1 ?]']],
  ];
  const found: string[] = [];
  wanted.forEach(([type, attributes], i) => {
    const entity = header[i];
    if (entity?.type !== type) found.push(`header: expected ${type}, found ${entity?.type}`);
    else if (
      entity.attributes.length !== attributes.length ||
      !entity.attributes.every((v, k) => fits(v, attributes[k]!, new Map()))
    )
      found.push(`header: ${type} is not ${attributes.join(' ')}`);
  });
  return found;
}

function attributesOf({ entities: parts, complex }: Instance): readonly (readonly string[])[] | undefined {
  if (!complex) return entities[parts[0]!.type] && [entities[parts[0]!.type]!];
  const same = complexes.find((c) => c.length === parts.length && c.every(([type], i) => parts[i]!.type === type));
  return same?.map(([, attributes]) => attributes);
}

function fits(value: Value, wanted: string, instances: StepFile['instances']): boolean {
  if (wanted.endsWith('?') && !wanted.startsWith('[')) {
    return value.is === 'unset' || fits(value, wanted.slice(0, -1), instances);
  }
  if (wanted === '-') return value.is === 'unset';
  if (wanted === '*') return value.is === 'derived';
  if (wanted === 's') return value.is === 'string';
  if (wanted === 'i') return value.is === 'integer';
  if (wanted === 'r') return value.is === 'real' && Number.isFinite(value.value);
  if (wanted === 'r+') return value.is === 'real' && Number.isFinite(value.value) && value.value > 0;
  if (wanted === 'b') return value.is === 'enumeration' && (value.value === 'T' || value.value === 'F');
  if (wanted.startsWith('{')) return value.is === 'enumeration' && wanted.slice(1, -1).split(' ').includes(value.value);
  if (wanted.startsWith('[')) {
    const [of, least, most] = wanted.slice(1, -1).split(' ') as [string, string, string];
    return (
      value.is === 'list' &&
      value.value.length >= Number(least) &&
      (most === '?' || value.value.length <= Number(most)) &&
      value.value.every((v) => fits(v, of, instances))
    );
  }
  if (wanted === 'LENGTH_MEASURE')
    return value.is === 'typed' && value.type === wanted && fits(value.value, 'r+', instances);
  if (wanted === 'TRIM')
    return value.is === 'typed'
      ? value.type === 'PARAMETER_VALUE' && fits(value.value, 'r', instances)
      : fits(value, 'CARTESIAN_POINT', instances);
  if (value.is !== 'reference') return false;
  const types = instances.get(value.value)?.entities.map(({ type }) => type) ?? [];
  return types.some((type) => type === wanted || supertypes[wanted]?.includes(type));
}

const references = (value: Value): number[] =>
  value.is === 'reference' ? [value.value] : value.is === 'list' ? value.value.flatMap(references) : [];

/** Rules of the schemas beyond types (WHERE rules of 10303-42), also from memory. */
function ruleOffences(instances: StepFile['instances']): string[] {
  const found: string[] = [];
  const get = (value: Value): Entity => instances.get((value as { value: number }).value)!.entities[0]!;
  const numbers = (value: Value) => (value as { value: readonly { value: number }[] }).value.map((v) => v.value);
  const vector = (value: Value) => numbers(get(value).attributes[1]!);
  const list = (value: Value) => (value as { value: readonly Value[] }).value;
  for (const [name, { entities: parts, complex }] of instances) {
    if (complex) continue;
    const { type, attributes: a } = parts[0]!;
    const say = (what: string) => found.push(`#${name} ${type}: ${what}`);
    if (type === 'DIRECTION' && Math.hypot(...numbers(a[1]!)) === 0) say('has no length');
    if (type === 'AXIS2_PLACEMENT_3D') {
      const [z, x] = [vector(a[2]!), vector(a[3]!)] as [number[], number[]];
      if (Math.abs(z[0]! * x[0]! + z[1]! * x[1]! + z[2]! * x[2]!) > 1e-9) say('its axes are not square');
    }
    if (type === 'CONICAL_SURFACE' && !((a[3] as { value: number }).value < Math.PI / 2)) say('is no cone');
    if (type === 'EDGE_LOOP') {
      const ends = list(a[1]!).map((oriented) => {
        const [, , , edge, sense] = get(oriented).attributes;
        const [, start, end] = get(edge!).attributes as Extract<Value, { is: 'reference' }>[];
        const forward = (sense as { value: string }).value === 'T';
        return forward ? [start!.value, end!.value] : [end!.value, start!.value];
      });
      if (!ends.every(([, end], i) => end === ends[(i + 1) % ends.length]![0])) say('is not closed');
    }
    if (type === 'COMPOSITE_CURVE') {
      const transitions = list(a[1]!).map((s) => (get(s).attributes[0] as { value: string }).value);
      if (transitions.slice(0, -1).includes('DISCONTINUOUS')) say('has a gap');
    }
    if (type === 'TRIMMED_CURVE') {
      const parameter = (v: Value) => (list(v)[1] as unknown as { value: { value: number } }).value.value;
      if (parameter(a[2]!) === parameter(a[3]!)) say('has no length');
    }
  }
  return found;
}
