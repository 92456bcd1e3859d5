import { readFileSync } from 'node:fs';
import { planJsonSchema } from '@fettle/geom';
import { expect, test } from 'vitest';

test('the published JSON Schema is the one plans are checked with (else: npm run plan-schema -w packages/geom)', () => {
  const published = readFileSync(new URL('../../packages/geom/plan.schema.json', import.meta.url), 'utf8');
  expect(JSON.parse(published)).toEqual(planJsonSchema());
});
