/** A plan is a text that begins with a brace; no scan format read does. Larger files are no plans. */
const LARGEST = 32 * 2 ** 20;

export async function isPlanFile(file: Blob): Promise<boolean> {
  if (file.size === 0 || file.size > LARGEST) return false;
  const head = await file.slice(0, 256).text();
  return /^\uFEFF?\s*\{/.test(head);
}
