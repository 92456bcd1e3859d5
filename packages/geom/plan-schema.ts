import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { withFieldTables } from './plan-reference.js';
import { planJsonSchema } from './src/plan/plan.js';

// Writes the published JSON Schema of plans anew, and the tables of fields in PLANS.md: npm run plan-schema -w packages/geom

const file = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const schema = planJsonSchema();
writeFileSync(file('plan.schema.json'), `${JSON.stringify(schema, undefined, 2)}\n`);
writeFileSync(file('PLANS.md'), withFieldTables(readFileSync(file('PLANS.md'), 'utf8'), schema));
