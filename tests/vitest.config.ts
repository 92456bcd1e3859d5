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
    testTimeout: 60_000,
    hookTimeout: 120_000,
    maxWorkers: 2,
    projects: [
      {
        extends: true,
        test: {
          name: 'library',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/browser/**', 'tests/io/growth.test.ts', '**/node_modules/**'],
          // One copy of the library for all files of a worker: loading it anew for each takes longer than most of them.
          isolate: false,
        },
      },
      // Counts the steps of code that nobody has run before.
      { extends: true, test: { name: 'growth', include: ['tests/io/growth.test.ts'] } },
      {
        extends: true,
        // A browser draws by software and wants both cores: these come last, one at a time.
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          globalSetup: ['tests/browser/prepare-browser.ts', 'tests/browser/prepare-page.ts'],
          fileParallelism: false,
          maxWorkers: 1,
          retry: 2,
          // Of a page on a busy machine.
          expect: { poll: { timeout: 20_000 } },
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
