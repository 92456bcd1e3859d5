import { checkPlan, FettleError, type Plan } from '@fettle/geom';
import { textOf } from './utf-16.js';

/**
 * The plan in the text of a JSON document, checked in full.
 *
 * @param name of its file: it opens the message of an error
 * @throws FettleError `plan-not-json` with line and column; PlanError (`plan-invalid`)
 */
export const planFromText = (text: string, name: string): Plan =>
  checkPlan(parseJson(text.replace(/^\uFEFF/, ''), name), name);

/** The same from the bytes of a file: UTF-8, or UTF-16 as some editors save it. */
export const planFromBytes = (bytes: Uint8Array, name: string): Plan => planFromText(textOf(bytes), name);

function parseJson(text: string, name: string): unknown {
  if (text.trim() === '')
    throw new FettleError('plan-not-json', `${name}: the file is empty; a plan is a JSON document.`);
  try {
    return JSON.parse(text);
  } catch (error) {
    const { message } = error as Error;
    const before = text.slice(0, positionOf(text, message)).split('\n');
    const place = `line ${before.length}, column ${before.at(-1)!.length + 1}`;
    const reason = message.replace(/ in JSON at position .*|, [."].* is not valid JSON$/s, '');
    throw new FettleError('plan-not-json', `${name}, ${place}: ${reason}. A plan is a JSON document.`, {
      cause: error,
    });
  }
}

/** Where the text stops being JSON. The engine says so for some mistakes; an unexpected token it names without a place. */
function positionOf(text: string, message: string): number {
  const stated = /at position (\d+)/.exec(message)?.[1];
  if (stated !== undefined) return Number(stated);
  // A text cut before the token fails by its end, one cut behind it by the token: the shortest that does is sought.
  let [good, bad] = [0, text.length];
  while (bad - good > 1) {
    const middle = (good + bad) >> 1;
    if (hasUnexpectedToken(text.slice(0, middle))) bad = middle;
    else good = middle;
  }
  return hasUnexpectedToken(text) ? bad - 1 : text.length;
}

function hasUnexpectedToken(text: string): boolean {
  try {
    JSON.parse(text);
    return false;
  } catch (error) {
    return (error as Error).message.startsWith('Unexpected token');
  }
}
