import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { contentPolicy } from './content-policy.js';
import { offlineBuild } from './offline-build.js';
import { pumpAsset } from './pump-asset.js';

const sourceOf = (name: string) => fileURLToPath(new URL(`../${name}/src/index.ts`, import.meta.url));

export default defineConfig({
  base: './',
  plugins: [pumpAsset(), offlineBuild(), contentPolicy()],
  // From source: what no page uses is left out of the bundles.
  resolve: { alias: { '@fettle/geom': sourceOf('geom'), '@fettle/io': sourceOf('io') } },
  // Found only once the page runs, they would be prepared late, and the page loaded again in the middle of work.
  optimizeDeps: {
    include: [
      '@preact/signals',
      'comlink',
      'fflate',
      'idb-keyval',
      'meshoptimizer/simplifier',
      'preact',
      'preact/hooks',
      'preact/jsx-runtime',
      'three',
    ],
  },
  // Beside the page, as the demo pump is, which it loads.
  worker: { format: 'es', rolldownOptions: { output: { entryFileNames: '[name]-[hash].js' } } },
  build: {
    outDir: 'dist/page',
    target: 'es2023',
    modulePreload: { polyfill: false },
    // The worker's code is one file by design, loaded behind the first paint.
    chunkSizeWarningLimit: 1200,
  },
});
