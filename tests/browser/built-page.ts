import { existsSync } from 'node:fs';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { inject } from 'vitest';

const VIEWER = fileURLToPath(new URL('../../packages/viewer', import.meta.url));
/** Making the demo pump is most of a build, ms. */
const LONGEST = 180_000;

/** The page as it is built for people, once a run, whichever test file asks first. @returns its folder */
export async function builtPage(): Promise<string> {
  const run = inject('pageFolder');
  const [folder, begun, done, failed] = ['page', 'begun', 'done', 'failed'].map((name) => join(run, name)) as [
    string,
    string,
    string,
    string,
  ];
  // Whoever makes this folder builds; the others wait.
  const isMine = await mkdir(begun).then(
    () => true,
    () => false,
  );
  if (isMine) {
    // Under test it would be built as for working on it.
    const { NODE_ENV } = process.env;
    process.env.NODE_ENV = 'production';
    try {
      await build({
        root: VIEWER,
        configFile: join(VIEWER, 'vite.config.ts'),
        logLevel: 'error',
        build: { outDir: folder },
      });
      await writeFile(done, '');
    } catch (error) {
      await writeFile(failed, String(error));
      throw error;
    } finally {
      if (NODE_ENV === undefined) delete process.env.NODE_ENV;
      else process.env.NODE_ENV = NODE_ENV;
    }
  }
  const end = Date.now() + LONGEST;
  while (!existsSync(done)) {
    if (existsSync(failed)) throw new Error('the page could not be built: see the test file that tried first');
    if (Date.now() > end) throw new Error(`the page was not built within ${LONGEST / 1000} s`);
    await wait(100);
  }
  return folder;
}
