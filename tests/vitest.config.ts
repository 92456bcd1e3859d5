import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const root = fileURLToPath(new URL('..', import.meta.url));

// geom and io are tested from source; @fettle/io/node from its build, because its worker threads load built files.
export default defineConfig({
  root,
  resolve: {
    alias: [
      { find: /^@fettle\/geom$/, replacement: `${root}packages/geom/src/index.ts` },
      { find: /^@fettle\/io$/, replacement: `${root}packages/io/src/index.ts` },
    ],
  },
  test: {
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/browser/prepare-browser.ts', 'tests/browser/prepare-page.ts'],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    maxWorkers: 2,
  },
});
