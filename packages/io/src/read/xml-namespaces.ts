import { refusal } from './refusal.js';

/** Elements within elements that no model has. */
const DEEPEST = 1000;

interface OpenElement {
  readonly qualified: string;
  /** What its own attributes bound anew, as it was before. */
  readonly before: ReadonlyMap<string, string> | undefined;
}

/** Which namespace each prefix stands for while elements open and close (Namespaces in XML 1.0). Errors: `bad-model`. */
export class XmlNamespaces {
  readonly #name: string;
  readonly #open: OpenElement[] = [];
  #bound: ReadonlyMap<string, string> = new Map();

  /** @param name of the file, for messages */
  constructor(name: string) {
    this.#name = name;
  }

  /** An element opens; its attributes may bind prefixes. */
  open(qualified: string, attributes?: ReadonlyMap<string, string>): void {
    if (this.#open.length >= DEEPEST) {
      throw refusal(
        this.#name,
        'bad-model',
        `its model nests elements more than ${DEEPEST.toLocaleString('en-US')} deep. Export it again.`,
      );
    }
    let bound: Map<string, string> | undefined;
    for (const [attribute, uri] of attributes ?? []) {
      const prefix = attribute === 'xmlns' ? '' : attribute.startsWith('xmlns:') ? attribute.slice(6) : undefined;
      if (prefix === undefined) continue;
      bound ??= new Map(this.#bound);
      bound.set(prefix, uri);
    }
    this.#open.push({ qualified, before: bound && this.#bound });
    if (bound !== undefined) this.#bound = bound;
  }

  /** The element that opened last closes; false if it has another name. */
  close(qualified: string): boolean {
    const last = this.#open.pop();
    if (last?.before !== undefined) this.#bound = last.before;
    return last?.qualified === qualified;
  }

  /** The namespace a prefix stands for; the prefix itself where it stands for none. */
  of(prefix: string): string {
    return this.#bound.get(prefix) ?? prefix;
  }
}
