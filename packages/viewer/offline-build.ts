import { createHash } from 'node:crypto';
import type { Plugin } from 'vite';

/** Name of the service worker beside the page. */
const NAME = 'offline.js';

/** Builds the service worker beside the page, and writes into it which files there are. */
export function offlineBuild(): Plugin {
  return {
    name: 'offline-build',
    apply: 'build',
    config: () => ({
      build: {
        rolldownOptions: {
          input: { index: 'index.html', offline: 'src/offline/service-worker.ts' },
          output: {
            entryFileNames: ({ name }) => (name === 'offline' ? NAME : 'assets/[name]-[hash].js'),
          },
        },
      },
    }),
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const files = Object.keys(bundle).filter((name) => name !== NAME && !name.endsWith('.map'));
        const hash = createHash('sha256');
        for (const name of files.toSorted()) {
          const made = bundle[name]!;
          hash.update(name).update(made.type === 'chunk' ? made.code : made.source);
        }
        const version = hash.digest('hex').slice(0, 12);
        const worker = bundle[NAME];
        if (worker?.type !== 'chunk') this.error(`${NAME} is not among the files built`);
        worker.code = `const BUILD=${JSON.stringify({ version, files })};${worker.code}`;
      },
    },
  };
}
