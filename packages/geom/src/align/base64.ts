/** Base64 (RFC 4648, 4) without Node or a page at hand. */
const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

export function toBase64(bytes: Uint8Array): string {
  const parts: string[] = [];
  for (let i = 0; i < bytes.length; i += 3) {
    const left = bytes.length - i;
    const word = (bytes[i] << 16) | ((left > 1 ? bytes[i + 1] : 0) << 8) | (left > 2 ? bytes[i + 2] : 0);
    parts.push(
      LETTERS[word >> 18],
      LETTERS[(word >> 12) & 63],
      left > 1 ? LETTERS[(word >> 6) & 63] : '=',
      left > 2 ? LETTERS[word & 63] : '=',
    );
  }
  return parts.join('');
}

/** Undefined for text that is not base64. */
export function fromBase64(text: string): Uint8Array | undefined {
  if (text.length % 4 !== 0) return undefined;
  const values = new Map([...LETTERS].map((letter, k) => [letter, k]));
  const end = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0;
  const bytes = new Uint8Array((text.length / 4) * 3 - end);
  let at = 0;
  for (let i = 0; i < text.length; i += 4) {
    let word = 0;
    for (let k = 0; k < 4; k++) {
      const value = i + k >= text.length - end ? 0 : values.get(text[i + k]);
      if (value === undefined) return undefined;
      word = (word << 6) | value;
    }
    for (let k = 16; k >= 0 && at < bytes.length; k -= 8) bytes[at++] = (word >> k) & 255;
  }
  return bytes;
}
