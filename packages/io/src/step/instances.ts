/** The name of an instance in the file: `#12`. */
export type Reference = `#${number}`;

/** The data section as it grows: instances numbered from 1, each naming only earlier ones. */
export class Instances {
  #count = 0;
  #lines: string[] = [];
  #shared = new Map<string, Reference>();

  /** Writes an instance: `CARTESIAN_POINT('',(0.,0.,0.))`, or several types in parentheses. */
  add(entity: string): Reference {
    const name: Reference = `#${++this.#count}`;
    this.#lines.push(`${name}=${entity};\n`);
    return name;
  }

  /** The same, once for all who say the same. */
  share(entity: string): Reference {
    const known = this.#shared.get(entity);
    if (known !== undefined) return known;
    const name = this.add(entity);
    this.#shared.set(entity, name);
    return name;
  }

  /** Lines not taken yet. */
  get waiting(): number {
    return this.#lines.length;
  }

  take(): string {
    const text = this.#lines.join('');
    this.#lines = [];
    return text;
  }
}
