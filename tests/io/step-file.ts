/**
 * A strict reader of the exchange structure of ISO 10303-21 (edition 2, implementation level 1: one data section), written from
 * the grammar of its annex as remembered. It takes nothing the standard does not: an unknown character, a real without a decimal point, a
 * reference to nothing, an instance named twice are errors.
 */
export interface StepFile {
  readonly header: readonly Entity[];
  readonly instances: ReadonlyMap<number, Instance>;
}

export interface Entity {
  readonly type: string;
  readonly attributes: readonly Value[];
}

/** A simple instance has one entity, a complex one several. */
export interface Instance {
  readonly entities: readonly Entity[];
  readonly complex: boolean;
}

export type Value =
  | { readonly is: 'string'; readonly value: string }
  | { readonly is: 'integer' | 'real'; readonly value: number }
  | { readonly is: 'enumeration'; readonly value: string }
  | { readonly is: 'reference'; readonly value: number }
  | { readonly is: 'list'; readonly value: readonly Value[] }
  | { readonly is: 'typed'; readonly type: string; readonly value: Value }
  | { readonly is: 'unset' | 'derived' };

export function parseStepFile(bytes: Uint8Array): StepFile {
  const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  let at = 0;

  const fail = (expected: string): never => {
    throw new Error(`at ${at}: expected ${expected}, found ${JSON.stringify(text.slice(at, at + 30))}`);
  };
  const blank = () => {
    while (text[at] === ' ' || text[at] === '\n') at++;
  };
  const token = <T>(pattern: RegExp, expected: string, read: (match: string) => T): T => {
    blank();
    pattern.lastIndex = at;
    const match = pattern.exec(text);
    if (!match) return fail(expected);
    at += match[0].length;
    return read(match[0]);
  };
  const literal = (word: string) => {
    blank();
    if (!text.startsWith(word, at)) fail(word);
    at += word.length;
  };
  const next = (): string => {
    blank();
    return text[at] ?? '';
  };
  const keyword = () => token(/[A-Z_][A-Z0-9_]*/y, 'a keyword', (k) => k);

  function list<T>(item: () => T): T[] {
    literal('(');
    const found: T[] = [];
    if (next() !== ')') {
      found.push(item());
      while (next() === ',') {
        literal(',');
        found.push(item());
      }
    }
    literal(')');
    return found;
  }

  function value(): Value {
    const c = next();
    if (c === "'")
      return token(/'(?:''|\\[^']*?\\|[ !-&(-[\]-~])*'/y, 'a string', (s) => ({ is: 'string', value: decoded(s) }));
    if (c === '#')
      return token(/#[1-9][0-9]*/y, 'a reference', (r) => ({ is: 'reference', value: Number(r.slice(1)) }));
    if (c === '(') return { is: 'list', value: list(value) };
    if (c === '.')
      return token(/\.[A-Z_][A-Z0-9_]*\./y, 'an enumeration', (e) => ({ is: 'enumeration', value: e.slice(1, -1) }));
    if (c === '$' || c === '*') {
      literal(c);
      return { is: c === '$' ? 'unset' : 'derived' };
    }
    if (/[+\-0-9]/.test(c))
      return token(/[+-]?[0-9]+(?:\.[0-9]*(?:E[+-]?[0-9]+)?)?/y, 'a number', (n) => ({
        is: n.includes('.') ? 'real' : 'integer',
        value: Number(n),
      }));
    const type = keyword();
    literal('(');
    const inside = value();
    literal(')');
    return { is: 'typed', type, value: inside };
  }

  const entity = (): Entity => ({ type: keyword(), attributes: list(value) });

  literal('ISO-10303-21;');
  literal('HEADER;');
  const header: Entity[] = [];
  blank();
  while (!text.startsWith('ENDSEC;', at)) {
    header.push(entity());
    literal(';');
    blank();
  }
  literal('ENDSEC;');
  literal('DATA;');
  const instances = new Map<number, Instance>();
  while (next() === '#') {
    const name = token(/#[1-9][0-9]*/y, 'an instance name', (r) => Number(r.slice(1)));
    literal('=');
    if (instances.has(name)) throw new Error(`#${name} is there twice`);
    if (next() === '(') {
      literal('(');
      const entities: Entity[] = [];
      while (next() !== ')') entities.push(entity());
      literal(')');
      instances.set(name, { entities, complex: true });
    } else instances.set(name, { entities: [entity()], complex: false });
    literal(';');
  }
  literal('ENDSEC;');
  literal('END-ISO-10303-21;');
  blank();
  if (at !== text.length) fail('the end');
  return { header, instances };
}

/** A string's characters: apostrophes and backslashes doubled, \X\hh, \X2\hhhh…\X0\, \X4\hhhhhhhh…\X0\ (clause 6.4.3). */
function decoded(quoted: string): string {
  const inside = quoted.slice(1, -1);
  const pattern =
    /''|\\\\|\\X\\([0-9A-F]{2})|\\X2\\((?:[0-9A-F]{4})+)\\X0\\|\\X4\\((?:[0-9A-F]{8})+)\\X0\\|[ !-&(-[\]-~]/y;
  let out = '';
  let at = 0;
  while (at < inside.length) {
    pattern.lastIndex = at;
    const match = pattern.exec(inside);
    if (!match) throw new Error(`not a string of ISO 10303-21: ${quoted} at ${at}`);
    const [whole, one, two, four] = match;
    if (one) out += String.fromCharCode(Number.parseInt(one, 16));
    else if (two) out += String.fromCharCode(...two.match(/.{4}/g)!.map((h) => Number.parseInt(h, 16)));
    else if (four) out += String.fromCodePoint(...four.match(/.{8}/g)!.map((h) => Number.parseInt(h, 16)));
    else out += whole[0];
    at += whole.length;
  }
  return out;
}
