import { existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A Chromium that can be started, and what its process needs. */
export interface Browser {
  readonly path: string;
  readonly args: readonly string[];
  readonly env: Readonly<Record<string, string>>;
}

const INSTALLED = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

/**
 * The Chromium to test in: by default the one inside the npm package `@sparticuz/chromium`, the same on every machine, which brings its
 * libraries along, so that nothing has to be installed. CHROME_PATH=installed asks for an installed one, a path for the one there.
 */
export async function findBrowser(): Promise<Browser> {
  const wish = process.env.CHROME_PATH;
  return wish ? { path: wish === 'installed' ? installed() : given(wish), args: [], env: {} } : packaged();
}

/** Where an installed one is, if there is one. */
export const installedPath = (): string | undefined => INSTALLED.find((candidate) => existsSync(candidate));

function installed(): string {
  const path = installedPath();
  if (path === undefined)
    throw new Error(
      `CHROME_PATH=installed: no Chromium at ${INSTALLED.join(', ')}. Give its path, or leave CHROME_PATH away.`,
    );
  return path;
}

function given(path: string): string {
  if (!existsSync(path))
    throw new Error(`CHROME_PATH: nothing at ${path}. Give the path of a Chromium, or leave it away.`);
  return path;
}

async function packaged(): Promise<Browser> {
  // The package unpacks the libraries it links to only where it takes itself to be on the machine it was made for.
  process.env.AWS_EXECUTION_ENV ??= 'AWS_Lambda_nodejs20.x';
  process.env.AWS_LAMBDA_JS_RUNTIME ??= 'nodejs20.x';
  const { default: chromium } = await import('@sparticuz/chromium');
  const unpacked = await chromium.executablePath();
  const libraries = join(tmpdir(), 'al2023', 'lib');
  const { FONTCONFIG_PATH } = process.env;
  return {
    path: unpacked,
    // In one process it ends with the first page closed.
    args: chromium.args.filter((arg) => arg !== '--single-process' && !arg.startsWith('--disable-web-security')),
    env: {
      LD_LIBRARY_PATH: [libraries, process.env.LD_LIBRARY_PATH].filter(Boolean).join(':'),
      ...(FONTCONFIG_PATH !== undefined && { FONTCONFIG_PATH }),
    },
  };
}
