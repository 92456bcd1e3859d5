import type { Plugin } from 'vite';

/** What the page may load and run: its own files alone, no code made at run time but WebAssembly. */
export const CONTENT_POLICY = [
  "default-src 'self'",
  "img-src 'self' blob: data:",
  "worker-src 'self' blob:",
  "script-src 'self' 'wasm-unsafe-eval'",
  "style-src 'self'",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** Puts the policy into the built page, whichever server it is served by. */
export function contentPolicy(): Plugin {
  return {
    name: 'content-policy',
    apply: 'build',
    transformIndexHtml: () => [
      {
        tag: 'meta',
        attrs: { 'http-equiv': 'Content-Security-Policy', content: CONTENT_POLICY },
        injectTo: 'head-prepend',
      },
    ],
  };
}
