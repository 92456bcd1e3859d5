import { textOf } from './utf-16.js';

/** Whether the first bytes of a file are those of a plan: a text that begins with a brace; no scan format read does. */
export const beginsAsPlan = (head: Uint8Array): boolean => /^\s*\{/.test(textOf(head));
