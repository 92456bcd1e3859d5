/**
 * Colors as octets from numbers whose range the file does not say: up to 1 they are fractions, as most programs write, up to 255
 * octets, above that of 65,535. NaN, where a point has none, is white.
 */
export function asOctets(values: Float32Array): Uint8Array {
  let largest = 0;
  for (let i = 0; i < values.length; i++) if (values[i] > largest) largest = values[i];
  const scale = largest <= 1 ? 255 : largest <= 255 ? 1 : 1 / 257;
  return Uint8Array.from(values, (v) => (Number.isNaN(v) ? 255 : Math.min(255, Math.max(0, Math.round(v * scale)))));
}
