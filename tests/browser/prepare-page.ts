import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TestProject } from 'vitest/node';

declare module 'vitest' {
  interface ProvidedContext {
    /** Of this run: where the page is built when a test first asks for it. */
    pageFolder: string;
  }
}

export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'fettle-page-'));
  project.provide('pageFolder', folder);
  return () => rm(folder, { recursive: true, force: true });
}
