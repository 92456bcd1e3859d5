import { listText, stringText } from './exchange-text.js';
import type { Instances, Reference } from './instances.js';
import { placement } from './placement.js';
import { type StepSchema, schemas } from './schema.js';
import type { Shape } from './shape.js';

/** What all products of a file share. */
export interface Setting {
  readonly application: Reference;
  /** Units and uncertainty. */
  readonly geometry: Reference;
}

/** Points closer than this are one, mm: what readers join edges by. Numbers are written to the last digit of a double. */
const UNCERTAINTY = '1.E-6';

export function setting(to: Instances, schema: StepSchema): Setting {
  const { context, protocol, year } = schemas[schema];
  const application = to.add(`APPLICATION_CONTEXT(${stringText(context)})`);
  to.add(`APPLICATION_PROTOCOL_DEFINITION('international standard','${protocol}',${year},${application})`);
  const length = to.add('(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))');
  const angle = to.add('(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))');
  const solid = to.add('(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())');
  const uncertainty = to.add(
    `UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(${UNCERTAINTY}),${length},'distance_accuracy_value','points closer than this are one')`,
  );
  const geometry = to.add(
    `(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((${uncertainty}))` +
      `GLOBAL_UNIT_ASSIGNED_CONTEXT((${length},${angle},${solid}))REPRESENTATION_CONTEXT('','3D'))`,
  );
  return { application, geometry };
}

/** A part, or the whole that parts are set into. */
export interface Product {
  readonly name: string;
  readonly definition: Reference;
  readonly representation: Reference;
  /** Of the representation: where it is taken by. */
  readonly origin: Reference;
}

/**
 * A product with its shape: one representation with placements, which surfaces and curves, each in a representation of the type made
 * for them, are related to.
 */
export function product(
  to: Instances,
  { application, geometry }: Setting,
  name: string,
  shapes: readonly Shape[],
): Product {
  const text = stringText(name);
  const context = to.share(`PRODUCT_CONTEXT('',${application},'mechanical')`);
  const item = to.add(`PRODUCT(${text},${text},'',(${context}))`);
  to.add(`PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(${item}))`);
  const formation = to.add(`PRODUCT_DEFINITION_FORMATION('','',${item})`);
  const stage = to.share(`PRODUCT_DEFINITION_CONTEXT('part definition',${application},'design')`);
  const definition = to.add(`PRODUCT_DEFINITION('design','',${formation},${stage})`);
  const shape = to.add(`PRODUCT_DEFINITION_SHAPE('','',${definition})`);

  const origin = placement(to, [0, 0, 0], [0, 0, 1], [1, 0, 0]);
  const items = (part: keyof Shape) => shapes.flatMap((s) => s[part]);
  const representation = to.add(
    `SHAPE_REPRESENTATION(${text},${listText([origin, ...items('placements')])},${geometry})`,
  );
  to.add(`SHAPE_DEFINITION_REPRESENTATION(${shape},${representation})`);
  for (const [type, found] of [
    ['MANIFOLD_SURFACE_SHAPE_REPRESENTATION', items('surfaces')],
    ['GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION', items('curves')],
  ] as const) {
    if (found.length === 0) continue;
    const own = to.add(`${type}(${text},${listText(found)},${geometry})`);
    to.add(`SHAPE_REPRESENTATION_RELATIONSHIP('','',${representation},${own})`);
  }
  return { name, definition, representation, origin };
}

/** Sets a part into the whole where it is. */
export function component(to: Instances, whole: Product, part: Product): void {
  const text = stringText(part.name);
  const usage = to.add(`NEXT_ASSEMBLY_USAGE_OCCURRENCE(${text},${text},'',${whole.definition},${part.definition},$)`);
  const place = to.add(`PRODUCT_DEFINITION_SHAPE('','',${usage})`);
  const still = to.add(`ITEM_DEFINED_TRANSFORMATION('','',${part.origin},${whole.origin})`);
  const relation = to.add(
    `(REPRESENTATION_RELATIONSHIP('','',${part.representation},${whole.representation})` +
      `REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(${still})SHAPE_REPRESENTATION_RELATIONSHIP())`,
  );
  to.add(`CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(${relation},${place})`);
}
