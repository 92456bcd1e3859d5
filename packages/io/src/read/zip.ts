import { counted, countText } from '../text/number-text.js';
import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import type { UnpackingBudget } from './unpacking-budget.js';

/** One file of an archive, as the directory at its end describes it. */
export interface ZipEntry {
  readonly name: string;
  readonly isCompressed: boolean;
  readonly packed: Uint8Array;
  /** Bytes it unpacks to, and their check (CRC-32). */
  readonly size: number;
  readonly check: number;
}

const END = 0x06054b50;
const DIRECTORY = 0x02014b50;
const LOCAL = 0x04034b50;

/**
 * The files of a zip archive (PKWARE APPNOTE 6.3), by their names in lower case without a leading slash: names are keys here, and
 * nothing is ever written under one. Errors: `bad-archive`, `cut-short`.
 */
export function zipEntries(bytes: Uint8Array, name: string): Map<string, ZipEntry> {
  const bad = (what: string) =>
    refusal(name, 'bad-archive', `a zip archive that is damaged: ${what}. Export it again.`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let end = bytes.length - 22;
  // A comment of up to 65,535 bytes may follow.
  while (end >= 0 && end > bytes.length - 22 - 65536 && view.getUint32(end, true) !== END) end--;
  if (end < 0 || view.getUint32(end, true) !== END) {
    throw refusal(
      name,
      'cut-short',
      `a zip archive without the directory that ends it: cut short after ${counted(bytes.length, 'byte')}. Export it again.`,
    );
  }
  const count = view.getUint16(end + 10, true);
  let at = view.getUint32(end + 16, true);
  const entries = new Map<string, ZipEntry>();
  const extents: { readonly from: number; readonly to: number; readonly which: string }[] = [];
  for (let i = 0; i < count; i++) {
    if (at + 46 > end || view.getUint32(at, true) !== DIRECTORY)
      throw bad(`entry ${countText(i + 1)} of its directory`);
    const flags = view.getUint16(at + 8, true);
    const method = view.getUint16(at + 10, true);
    const check = view.getUint32(at + 16, true);
    const packedSize = view.getUint32(at + 20, true);
    const size = view.getUint32(at + 24, true);
    const nameLength = view.getUint16(at + 28, true);
    const local = view.getUint32(at + 42, true);
    const own = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + nameLength));
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (own.endsWith('/')) continue;
    const which = `'${excerpt(own)}'`;
    if (flags & 1) throw bad(`${which} is encrypted`);
    if (method !== 0 && method !== 8) throw bad(`${which} is packed by a method other than deflate`);
    if (local + 30 > bytes.length || view.getUint32(local, true) !== LOCAL) throw bad(`where ${which} should begin`);
    const from = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
    if (from + packedSize > bytes.length) throw bad(`${which} reaches beyond its end`);
    if (method === 0 && packedSize !== size) throw bad(`${which} has two sizes`);
    extents.push({ from: local, to: from + packedSize, which });
    const packed = bytes.subarray(from, from + packedSize);
    entries.set(partKey(own), { name: own, isCompressed: method === 8, packed, size, check });
  }
  // Entries that share bytes make a small archive unpack to anything.
  extents.sort((a, b) => a.from - b.from);
  for (let i = 1; i < extents.length; i++) {
    if (extents[i].from < extents[i - 1].to) throw bad(`${extents[i - 1].which} and ${extents[i].which} share bytes`);
  }
  return entries;
}

/**
 * What the name of a part is known by: without regard to case (ECMA-376-2, part names), from the root of the package, with what `.`, `..`
 * and percent signs mean in a reference put in.
 */
export function partKey(reference: string): string {
  const steps: string[] = [];
  for (const step of withoutPercents(reference).toLowerCase().split('/')) {
    if (step === '..') steps.pop();
    else if (step !== '' && step !== '.') steps.push(step);
  }
  return steps.join('/');
}

function withoutPercents(reference: string): string {
  try {
    return decodeURIComponent(reference);
  } catch {
    return reference;
  }
}

/** Hands the unpacked bytes of an entry on, piece by piece; at the end size and check must hold. Errors: `bad-archive`, `too-large`. */
export async function unpack(
  entry: ZipEntry,
  name: string,
  budget: UnpackingBudget,
  push: (piece: Uint8Array) => void,
): Promise<void> {
  const bad = (what: string, cause?: unknown) =>
    refusal(name, 'bad-archive', `'${excerpt(entry.name)}' in it is damaged: ${what}. Export it again.`, cause);
  let size = 0;
  let check = -1;
  const take = (piece: Uint8Array) => {
    size += piece.length;
    if (size > entry.size) throw bad(`it unpacks to more than the ${counted(entry.size, 'byte')} it should`);
    budget.take(piece.length);
    check = widenCheck(check, piece);
    push(piece);
  };
  budget.foresee(entry.size);
  if (!entry.isCompressed) take(entry.packed);
  else {
    const stream = new Blob([entry.packed as Uint8Array<ArrayBuffer>]).stream();
    const reader = stream.pipeThrough(new DecompressionStream('deflate-raw')).getReader();
    try {
      for (;;) {
        const { done, value } = await reader.read().catch((error: unknown) => {
          throw bad((error as Error).message, error);
        });
        if (done) break;
        take(value);
      }
    } catch (error) {
      await reader.cancel().catch(() => undefined);
      throw error;
    }
  }
  if (size < entry.size) throw bad(`it unpacks to ${countText(size)} of ${counted(entry.size, 'byte')}`);
  if ((check ^ -1) >>> 0 !== entry.check) throw bad('its check (CRC-32) does not hold');
}

/** CRC-32 of every byte, reflected polynomial 0xedb88320 (ITU-T V.42). */
const checks = Int32Array.from({ length: 256 }, (_, byte) => {
  let c = byte;
  for (let bit = 0; bit < 8; bit++) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1;
  return c;
});

function widenCheck(check: number, piece: Uint8Array): number {
  let c = check;
  for (let i = 0; i < piece.length; i++) c = (c >>> 8) ^ checks[(c ^ piece[i]) & 255];
  return c;
}
