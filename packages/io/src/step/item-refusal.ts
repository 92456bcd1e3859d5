import { FettleError, type Vec3, vec3 } from '@fettle/geom';

const { cross, dot, length } = vec3;

/** The shortest thing written, mm. The file says that points closer than this are one. */
export const SMALLEST = 1e-6;

/** Demands on the numbers of one item; each throws with the item's name where they are not met. */
export class ItemRefusal {
  readonly #name: string;

  constructor(name: string) {
    this.#name = name;
  }

  refuse(code: string, what: string): never {
    throw new FettleError(code, `STEP not written: ${this.#name}: ${what}.`);
  }

  /** @param values undefined where whoever calls is not held to types */
  finite(what: string, values: readonly number[] | undefined): void {
    if (!isList(values)) this.refuse('value-missing', `it has no ${what}, or one that is no list of numbers`);
    if (!values.every(Number.isFinite)) this.refuse('not-finite', `its ${what} is no number: ${values.join(', ')}`);
  }

  unit(what: string, d: Vec3): void {
    this.vector(what, d);
    if (Math.abs(length(d) - 1) > 1e-9) this.refuse('not-unit', `its ${what} has length ${length(d)}, not 1`);
  }

  /** Three numbers. */
  vector(what: string, v: Vec3): void {
    this.finite(what, v);
    if (v.length !== 3) this.refuse('value-missing', `its ${what} has ${v.length} numbers, not 3`);
  }

  positive(what: string, value: number): void {
    if (value === undefined) this.refuse('value-missing', `it has no ${what}`);
    this.finite(what, [value]);
    if (value <= 0) this.refuse('size-not-positive', `its ${what} is ${value} mm; it must be more than 0`);
  }

  span(span: readonly [number, number]): void {
    this.finite('span', span);
    const [from, to] = span;
    if (!(to - from > SMALLEST)) this.refuse('span-empty', `it goes from ${from} to ${to} mm, which is no way at all`);
  }

  /** A direction of any length that is not along another. */
  across(what: string, d: Vec3, axis: Vec3): void {
    this.vector(what, d);
    if (length(cross(d, axis)) <= 1e-9 * length(d))
      this.refuse('not-square', `its ${what} runs along its axis or normal`);
  }

  square(what: string, a: Vec3, b: Vec3): void {
    if (Math.abs(dot(a, b)) > 1e-9) this.refuse('not-square', `its ${what} are not square to each other`);
  }

  /** More than 0 and less than `most`, radians; or as much, where it `mayReach` it. */
  angle(what: string, angle: number, most: number, mayReach = false): void {
    this.finite(what, [angle]);
    if (!(angle > 0 && (angle < most || (mayReach && angle <= most + 1e-9))))
      this.refuse(
        'angle-out-of-range',
        `its ${what} is ${angle}; it must be more than 0 and less than ${most} radians`,
      );
  }
}

const isList = (values: unknown): values is readonly number[] => Array.isArray(values) || ArrayBuffer.isView(values);
