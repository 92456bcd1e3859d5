const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

/** Bytes as base64 (RFC 4648), in a page, a worker or Node alike. */
export function base64(bytes: Uint8Array): string {
  const pieces: string[] = [];
  for (let i = 0; i < bytes.length; i += 3) {
    const word = (bytes[i]! << 16) | ((bytes[i + 1] ?? 0) << 8) | (bytes[i + 2] ?? 0);
    const left = bytes.length - i;
    pieces.push(
      ALPHABET[word >> 18]! +
        ALPHABET[(word >> 12) & 63]! +
        (left > 1 ? ALPHABET[(word >> 6) & 63]! : '=') +
        (left > 2 ? ALPHABET[word & 63]! : '='),
    );
  }
  return pieces.join('');
}
