import type { Plan } from '@fettle/geom';
import { type Html, html } from './html-text.js';

/** A plan to read, print and copy: valid JSON, a step a line. */
export function planText({ steps, ...head }: Plan): Html {
  const fields = Object.entries(head).filter(([, value]) => value !== undefined);
  const lines = [
    '{',
    ...fields.map(([name, value]) => `  ${JSON.stringify(name)}: ${inOneLine(value)},`),
    '  "steps": [',
    ...steps.map((step, s) => `    ${inOneLine(step)}${s < steps.length - 1 ? ',' : ''}`),
    '  ]',
    '}',
  ];
  // Texts lose their line breaks when they are put in: a piece a line.
  return html`${lines.map((line) => html`${line}\n`)}`;
}

/** JSON with a space where one helps reading. A line break inside it is one of the layout: those of strings are escaped. */
const inOneLine = (value: unknown): string =>
  JSON.stringify(value, undefined, 1)
    .replaceAll(/\[\n */g, '[')
    .replaceAll(/\n *\]/g, ']')
    .replaceAll(/\n */g, ' ');
