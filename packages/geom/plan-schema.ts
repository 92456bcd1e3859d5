import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { planJsonSchema } from './src/plan/plan.js';

// Writes the published JSON Schema of plans anew: npm run plan-schema -w packages/geom

const file = fileURLToPath(new URL('plan.schema.json', import.meta.url));
writeFileSync(file, `${JSON.stringify(planJsonSchema(), undefined, 2)}\n`);
