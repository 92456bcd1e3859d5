import { gzipSync } from 'node:zlib';
import { type Chunks, writePly } from '@fettle/io';
import type { Plugin } from 'vite';
import { scanPump } from '../../examples/pump/scan-pump.js';

/** Triangles of the demo: enough to look like a scan, few enough to load at once. */
const TRIANGLES = 160_000;
const NAME = 'pump.ply.gz';

/**
 * The demo of the page: the scan of the invented pump that `npm run demo` measures, with fewer triangles, made when the page is built
 * or, while it is worked on, when first asked for.
 */
export function pumpAsset(): Plugin {
  let made: Buffer | undefined;
  const pump = (): Buffer => {
    made ??= gzipSync(joined(writePly(scanPump({ triangles: TRIANGLES }).scan)), { level: 9 });
    return made;
  };
  return {
    name: 'pump-asset',
    configureServer({ middlewares }) {
      middlewares.use((request, response, next) => {
        if (request.url?.endsWith(`/${NAME}`) !== true) return next();
        response.setHeader('content-type', 'application/octet-stream');
        response.end(pump());
      });
    },
    generateBundle() {
      this.emitFile({ type: 'asset', fileName: NAME, source: pump() });
    },
  };
}

const joined = (chunks: Chunks): Buffer => Buffer.concat(Array.from(chunks));
