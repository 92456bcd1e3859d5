import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core finds serious or critical on a page as it stands, a line each: rule, element, why. */
export async function seriousFindings(page: Page): Promise<string[]> {
  // Evaluated, not added as an element: the page's content security policy stays as strict as it is.
  await page.evaluate(source);
  return page.evaluate(async () => {
    const { axe } = window as unknown as { axe: typeof import('axe-core') };
    const { violations } = await axe.run(document, { resultTypes: ['violations'] });
    return violations
      .filter(({ impact }) => impact === 'serious' || impact === 'critical')
      .flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.html.slice(0, 120)}: ${node.failureSummary}`));
  });
}
