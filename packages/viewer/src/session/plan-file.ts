import { beginsAsPlan } from '@fettle/io';

/** Larger files are no plans. */
const LARGEST = 32 * 2 ** 20;

export async function isPlanFile(file: Blob): Promise<boolean> {
  if (file.size === 0 || file.size > LARGEST) return false;
  return beginsAsPlan(new Uint8Array(await file.slice(0, 512).arrayBuffer()));
}
