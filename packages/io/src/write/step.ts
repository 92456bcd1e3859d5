import { checkItems } from '../step/check-items.js';
import { footerText, headerText } from '../step/header.js';
import { Instances } from '../step/instances.js';
import type { StepItem } from '../step/item.js';
import { component, product, setting } from '../step/product.js';
import type { StepSchema } from '../step/schema.js';
import { shapeOf } from '../step/shape.js';
import { Chunks } from './chunks.js';

export interface StepOptions {
  /** Name of the whole. Default `features`. */
  readonly product?: string;
  /** Name of the file in its header. Default: the product's with `.step`. */
  readonly file?: string;
  /** In the header. Default: now; with a date given, the same items give the same bytes. */
  readonly date?: Date;
  readonly author?: string;
  readonly organization?: string;
  /**
   * `ap214`: automotive design, which programs of the last twenty years open. `ap242`: managed model-based 3D engineering. The same
   * geometry in both. Default `ap214`.
   */
  readonly schema?: StepSchema;
  /**
   * `each`: every item is a part of its own in one assembly, so that any program lists them by name. `one`: a single part holds all; the
   * names are on its bodies, faces and curves, which not every program shows. Default `each`.
   */
  readonly parts?: 'each' | 'one';
}

/** Lines a piece. */
const LINES = 1 << 12;

/**
 * Features as a STEP file (ISO 10303-21) in mm that CAD opens and a person can snap to: trimmed faces, edges, circles, wires of lines and
 * arcs, points, placements, each named. Faces of cylinders and cones come with their axis, circles, slots and spheres with their center.
 * Numbers are written with the fewest digits that read back as the same double.
 *
 * Errors: `no-items`, `no-name`, `name-taken` where two items share a name, `not-finite`, `size-not-positive`, `span-empty`,
 * `angle-out-of-range`, `not-unit`, `not-square`, `wire-broken`.
 */
export function writeStep(items: readonly StepItem[], options: StepOptions = {}): Chunks {
  checkItems(items);
  const { product: name = 'features' } = options;
  const { file = `${name}.step`, date = new Date(), author = '', organization = '', schema = 'ap214' } = options;
  const header = headerText({ product: name, file, date, author, organization, schema });
  return new Chunks(() => pieces(items, name, header, schema, options.parts ?? 'each'));
}

function* pieces(
  items: readonly StepItem[],
  name: string,
  header: string,
  schema: StepSchema,
  parts: 'each' | 'one',
): Generator<Uint8Array<ArrayBuffer>> {
  const encoder = new TextEncoder();
  yield encoder.encode(header);
  const to = new Instances();
  const around = setting(to, schema);
  if (parts === 'one') {
    product(
      to,
      around,
      name,
      items.map((item) => shapeOf(to, item)),
    );
  } else {
    const whole = product(to, around, name, []);
    for (const item of items) {
      component(to, whole, product(to, around, item.name, [shapeOf(to, item)]));
      if (to.waiting >= LINES) yield encoder.encode(to.take());
    }
  }
  yield encoder.encode(to.take() + footerText);
}
