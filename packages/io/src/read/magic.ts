/** Whether the bytes begin with a word, a byte a character. */
export function startsWith(head: Uint8Array, word: string): boolean {
  for (let i = 0; i < word.length; i++) if (head[i] !== word.charCodeAt(i)) return false;
  return true;
}

/** First bytes of what is no scan this program reads, what it is, and where there is more to say than how to export it, that. */
const kinds: readonly (readonly [magic: string, what: string])[] = [
  ['ASTM-E57', 'E57, ASTM E2807, which is not read'],
  ['LASF', 'LAS or LAZ, which are not read'],
  ['\x1f\x8b', 'compressed with gzip'],
  ['\x28\xb5\x2f\xfd', 'compressed'],
  ['\xfd7zXZ', 'compressed'],
  ['BZh', 'compressed'],
  ['7z\xbc\xaf', 'an archive'],
  ['Rar!', 'an archive'],
  ['\x89PNG', 'a picture'],
  ['\xff\xd8\xff', 'a picture'],
  ['GIF8', 'a picture'],
  ['II*\0', 'a picture'],
  ['MM\0*', 'a picture'],
  ['%PDF', 'a PDF'],
  ['\xff\xfe', 'text in UTF-16'],
  ['\xfe\xff', 'text in UTF-16'],
];

/** What else a file is, by its first bytes, where they tell. */
export const otherKind = (head: Uint8Array): string | undefined =>
  kinds.find(([magic]) => startsWith(head, magic))?.[1];
