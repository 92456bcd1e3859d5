import { readFile } from 'node:fs/promises';
import type { Plan } from '@fettle/geom';
import { planFromText } from '../read/plan-text.js';
import { fileError } from './file-error.js';

/**
 * The plan in a JSON file, checked in full.
 *
 * @throws FettleError `file-missing`, `file-unreadable`; `plan-not-json` with line and column; PlanError (`plan-invalid`)
 */
export async function readPlan(path: string): Promise<Plan> {
  const text = await readFile(path, 'utf8').catch((error: unknown) => {
    throw fileError(path, error);
  });
  return planFromText(text, path);
}
