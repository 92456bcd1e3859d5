import { type BrowserContextOptions, chromium, type Browser as Driven, type Page } from 'playwright-core';
import { inject } from 'vitest';
import type { Browser } from './find-browser.js';

/** Drawing by software, and no talk to the outside. */
const ARGS = [
  '--no-sandbox',
  '--use-gl=angle',
  '--use-angle=swiftshader',
  '--enable-unsafe-swiftshader',
  '--ignore-gpu-blocklist',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** Starts the browser {@link Browser} tells of; in tests the one prepared for them. */
export async function openBrowser(browser: Browser = inject('browser')): Promise<Driven> {
  return chromium.launch({
    executablePath: browser.path,
    args: [...ARGS, ...browser.args],
    env: { ...(process.env as Record<string, string>), ...browser.env },
  });
}

/** What a page did that it should not, or that somebody wants to know. */
export interface Watched {
  readonly page: Page;
  /** Of the console, and uncaught ones. */
  readonly errors: string[];
  /** URLs asked for, `data:` and `blob:` left out. */
  readonly requests: string[];
}

/** A page of its own, with its errors and requests written down. */
export async function watchedPage(browser: Driven, options: BrowserContextOptions = {}): Promise<Watched> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 }, ...options });
  const page = await context.newPage();
  const errors: string[] = [];
  const requests: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text());
  });
  page.on('pageerror', (error) => errors.push(String(error)));
  context.on('request', (request) => {
    if (!/^(data|blob):/.test(request.url())) requests.push(request.url());
  });
  return { page, errors, requests };
}
