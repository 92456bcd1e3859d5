import { escaped } from '../drawing/svg-text.js';

/** HTML in a box, so that it cannot be taken for a text. */
export interface Html {
  readonly html: string;
}

type Value = Html | string | number | undefined;

/** HTML that is safe as it stands. */
export const raw = (html: string): Html => ({ html });

/** HTML from a template: texts put in are escaped, pieces of HTML and lists of them stand as they are, undefined is nothing. */
export function html(parts: TemplateStringsArray, ...values: readonly (Value | readonly Value[])[]): Html {
  let out = parts[0]!;
  values.forEach((value, i) => {
    const list = Array.isArray(value) ? (value as readonly Value[]) : [value as Value];
    out += list.map(htmlOf).join('') + parts[i + 1]!;
  });
  return { html: out };
}

const htmlOf = (value: Value): string =>
  value === undefined ? '' : typeof value === 'object' ? value.html : escaped(String(value));
