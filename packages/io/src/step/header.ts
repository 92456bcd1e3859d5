import { version } from '@fettle/geom';
import { stringText } from './exchange-text.js';
import { type StepSchema, schemas } from './schema.js';

export interface Header {
  readonly product: string;
  readonly file: string;
  readonly date: Date;
  readonly author: string;
  readonly organization: string;
  readonly schema: StepSchema;
}

const tool = `Fettle ${version}`;

/** All that comes before the data: ISO 10303-21, clause 8. */
export function headerText({ product, file, date, author, organization, schema }: Header): string {
  const stamp = date.toISOString().replace(/\.\d+Z$/, '+00:00');
  const name = [file, stamp].map(stringText);
  const people = [author, organization].map((who) => `(${stringText(who)})`);
  const tools = [tool, tool, ''].map(stringText);
  return [
    'ISO-10303-21;',
    'HEADER;',
    `FILE_DESCRIPTION((${stringText(`${product}: features measured on a scan, mm`)}),'2;1');`,
    `FILE_NAME(${[...name, ...people, ...tools].join(',')});`,
    `FILE_SCHEMA((${stringText(schemas[schema].header)}));`,
    'ENDSEC;',
    'DATA;',
    '',
  ].join('\n');
}

/** All that comes after it. */
export const footerText = 'ENDSEC;\nEND-ISO-10303-21;\n';
