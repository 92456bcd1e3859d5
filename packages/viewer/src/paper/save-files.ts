import type { DeliveredFile } from '../worker/protocol.js';

/** Gives a file to the browser to save. */
export function saveFile({ name, type, bytes }: DeliveredFile): void {
  const url = URL.createObjectURL(new Blob([bytes as Uint8Array<ArrayBuffer>], { type }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  // The browser reads it after the click.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
