/** A number as it was typed: with a point or a comma; undefined for an empty field; NaN where it is none. */
export function typedNumber(text: string): number | undefined {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return plain === '' ? undefined : Number(plain);
}
