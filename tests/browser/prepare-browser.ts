import type { TestProject } from 'vitest/node';
import { type Browser, findBrowser } from './find-browser.js';

declare module 'vitest' {
  interface ProvidedContext {
    browser: Browser;
  }
}

/** Finds or unpacks the browser once, before any test file starts: two at once would unpack over each other. */
export default async function setup(project: TestProject): Promise<void> {
  project.provide('browser', await findBrowser());
}
