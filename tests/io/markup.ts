/** An element of a document, as far as tests ask. */
export interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly text: string;
}

/** Elements of HTML that have no end tag (HTML Living Standard, 13.1.2). */
const VOID = new Set(['meta', 'img', 'br', 'link', 'hr', 'input']);

/**
 * The elements of a document in order, read strictly: every tag closed in its order, attributes quoted and told once, `<` and `&` only where
 * they belong. Throws what is wrong otherwise.
 */
export function elementsOf(source: string, kind: 'xml' | 'html'): Element[] {
  const found: (Element & { text: string })[] = [];
  const open: (Element & { text: string })[] = [];
  const tag = /<(\/?)([a-zA-Z][\w-]*)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>|<!DOCTYPE html>|<\?xml [^?]*\?>|([^<]+)/gy;
  let at = 0;
  while (at < source.length) {
    tag.lastIndex = at;
    const match = tag.exec(source);
    if (!match) throw new Error(`no markup: ${JSON.stringify(source.slice(at, at + 80))}`);
    at = tag.lastIndex;
    const [, closing, name, attributeText = '', selfClosing, text] = match;
    if (text !== undefined) {
      const isStyle = open.at(-1)?.name === 'style';
      if (!isStyle && /&(?!(amp|lt|gt|quot);)/.test(text)) throw new Error(`bare ampersand: ${text.slice(0, 80)}`);
      for (const element of open) element.text += text;
      continue;
    }
    if (name === undefined) continue;
    if (closing) {
      const last = open.pop();
      if (last?.name !== name) throw new Error(`</${name}> closes <${last?.name}>`);
      continue;
    }
    const attributes: Record<string, string> = {};
    for (const [, key, value] of attributeText.matchAll(/([\w:-]+)="([^"]*)"/g)) {
      if (key! in attributes) throw new Error(`${key} twice in <${name}>`);
      if (/&(?!(amp|lt|gt|quot);)/.test(value!)) throw new Error(`bare ampersand in ${key}`);
      attributes[key!] = value!;
    }
    const element = { name, attributes, text: '' };
    found.push(element);
    if (!selfClosing && !(kind === 'html' && VOID.has(name))) open.push(element);
  }
  if (open.length > 0) throw new Error(`<${open.at(-1)!.name}> is not closed`);
  return found;
}
