/**
 * Unpacks LZF (the format of liblzf): a byte below 32 is followed by one literal more than it says; others refer back, length in the upper
 * three bits (7: and a byte more), distance in the lower five and the next byte. False where the packed bytes do not make up just `out`.
 */
export function unpackLzf(packed: Uint8Array, out: Uint8Array): boolean {
  let i = 0;
  let to = 0;
  while (i < packed.length) {
    const control = packed[i++];
    if (control < 32) {
      const length = control + 1;
      if (i + length > packed.length || to + length > out.length) return false;
      out.set(packed.subarray(i, i + length), to);
      i += length;
      to += length;
      continue;
    }
    let length = (control >> 5) + 2;
    if (length === 9) length += packed[i++] ?? 0;
    if (i >= packed.length) return false;
    let from = to - ((control & 31) << 8) - packed[i++] - 1;
    if (from < 0 || to + length > out.length) return false;
    // Byte by byte: what is referred to may reach into what it makes.
    for (const end = to + length; to < end; ) out[to++] = out[from++];
  }
  return to === out.length;
}
