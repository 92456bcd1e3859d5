import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import { contentsText, type ModelObject, type Placed, type Transform } from './threemf-contents.js';
import { partKey } from './zip.js';

/** More than a build may place: some gigabytes of arrays. A few lines of components can ask for any number. */
const MOST = { triangles: 200_000_000, points: 200_000_000, placements: 1_000_000 };

interface Count {
  readonly points: number;
  readonly triangles: number;
  readonly placements: number;
}

/** Puts placed objects into one pair of arrays, after counting what they will hold. */
export class Placement {
  readonly #name: string;
  readonly #find: (path: string, id: string) => ModelObject;
  readonly #counts = new Map<ModelObject, Count>();
  /** Objects being counted: one that meets itself is its own component. */
  readonly #open = new Set<ModelObject>();
  #positions = new Float64Array(0);
  #triangles = new Uint32Array(0);
  #points = 0;
  #corners = 0;

  constructor(name: string, find: (path: string, id: string) => ModelObject) {
    this.#name = name;
    this.#find = find;
  }

  place(path: string, build: readonly Placed[]): { positions: Float64Array; triangles?: Uint32Array } {
    const total = this.#sum(path, build);
    if (total.placements === 1 && build.length === 1 && build[0].transform === undefined) {
      const { positions, triangles } = this.#find(partOf(build[0], path), build[0].id);
      return { positions, ...(triangles.length > 0 && { triangles }) };
    }
    this.#positions = new Float64Array(3 * total.points);
    this.#triangles = new Uint32Array(3 * total.triangles);
    for (const placed of build) this.#put(path, placed, identity);
    return { positions: this.#positions, ...(total.triangles > 0 && { triangles: this.#triangles }) };
  }

  #sum(path: string, placed: readonly Placed[]): Count {
    let points = 0;
    let triangles = 0;
    let placements = 0;
    for (const p of placed) {
      const count = this.#count(partOf(p, path), p.id);
      points += count.points;
      triangles += count.triangles;
      placements += count.placements;
      if (points > MOST.points || triangles > MOST.triangles || placements > MOST.placements) {
        throw refusal(
          this.#name,
          'too-large',
          `its components place an object within objects so often that it would have more than ${contentsText(MOST.points, MOST.triangles)}. Export it flat.`,
        );
      }
    }
    return { points, triangles, placements };
  }

  #count(path: string, id: string): Count {
    const object = this.#find(path, id);
    const known = this.#counts.get(object);
    if (known !== undefined) return known;
    if (this.#open.has(object)) {
      throw refusal(this.#name, 'bad-model', `object ${excerpt(id)} has itself as a component. Export it again.`);
    }
    if (this.#open.size > 100) {
      throw refusal(this.#name, 'bad-model', 'its components are nested more than 100 deep. Export it flat.');
    }
    this.#open.add(object);
    const parts = this.#sum(path, object.components);
    this.#open.delete(object);
    const count = {
      points: parts.points + object.positions.length / 3,
      triangles: parts.triangles + object.triangles.length / 3,
      placements: parts.placements + 1,
    };
    this.#counts.set(object, count);
    return count;
  }

  #put(path: string, placed: Placed, outer: Transform): void {
    const part = partOf(placed, path);
    const object = this.#find(part, placed.id);
    const m = placed.transform === undefined ? outer : composed(placed.transform, outer);
    const first = this.#points;
    const { positions: p, triangles: t } = object;
    for (let i = 0, to = 3 * first; i < p.length; i += 3, to += 3) {
      const [x, y, z] = [p[i], p[i + 1], p[i + 2]];
      for (let k = 0; k < 3; k++) this.#positions[to + k] = x * m[k] + y * m[3 + k] + z * m[6 + k] + m[9 + k];
    }
    this.#points += p.length / 3;
    const [second, third] = determinant(m) < 0 ? [2, 1] : [1, 2];
    for (let i = 0; i < t.length; i += 3) {
      this.#triangles[this.#corners++] = first + t[i];
      this.#triangles[this.#corners++] = first + t[i + second];
      this.#triangles[this.#corners++] = first + t[i + third];
    }
    for (const component of object.components) this.#put(part, component, m);
  }
}

/** The part that holds a placed object: the one it names, or the one that speaks. */
export const partOf = (placed: Placed, path: string): string =>
  placed.path === undefined ? path : partKey(placed.path);

const identity: Transform = [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0];

/** First `a`, then `b`, for points as rows. */
function composed(a: Transform, b: Transform): Transform {
  const c: number[] = [];
  for (let row = 0; row < 4; row++) {
    for (let k = 0; k < 3; k++) {
      const [x, y, z] = a.slice(3 * row, 3 * row + 3);
      c.push(x * b[k] + y * b[3 + k] + z * b[6 + k] + (row === 3 ? b[9 + k] : 0));
    }
  }
  return c;
}

const determinant = ([a, b, c, d, e, f, g, h, i]: Transform): number =>
  a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
