import { crc32, inflateSync } from 'node:zlib';

/** A PNG of 8 bits, true color or palette, decoded by Node's own zlib and CRC; throws on anything that is not as ISO/IEC 15948 has it. */
export function decodePng(bytes: Uint8Array): { width: number; height: number; rgb: Uint8Array; chunks: string[] } {
  const signature = [137, 80, 78, 71, 13, 10, 26, 10];
  if (!signature.every((byte, i) => bytes[i] === byte)) throw new Error('no PNG signature');
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const chunks: string[] = [];
  let [width, height, type] = [0, 0, 0];
  let palette = new Uint8Array();
  const data: Uint8Array[] = [];
  for (let at = 8; at < bytes.length; ) {
    const length = view.getUint32(at);
    const name = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    const body = bytes.subarray(at + 8, at + 8 + length);
    if (crc32(bytes.subarray(at + 4, at + 8 + length)) !== view.getUint32(at + 8 + length))
      throw new Error(`CRC of ${name}`);
    if (name === 'IHDR') {
      [width, height, type] = [view.getUint32(at + 8), view.getUint32(at + 12), body[9]!];
      if (body[8] !== 8 || body[10] !== 0 || body[11] !== 0 || body[12] !== 0) throw new Error('header');
    }
    if (name === 'PLTE') palette = body.slice();
    if (name === 'IDAT') data.push(body);
    chunks.push(name);
    at += 12 + length;
  }
  const raw = new Uint8Array(inflateSync(Buffer.concat(data)));
  const bpp = type === 3 ? 1 : 3;
  const stride = width * bpp;
  if (raw.length !== (stride + 1) * height) throw new Error('length of the data');
  const plain = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++)
    for (let i = 0; i < stride; i++) {
      const filter = raw[y * (stride + 1)]!;
      const a = i >= bpp ? plain[y * stride + i - bpp]! : 0;
      const b = y > 0 ? plain[(y - 1) * stride + i]! : 0;
      const c = i >= bpp && y > 0 ? plain[(y - 1) * stride + i - bpp]! : 0;
      const p = a + b - c;
      const near = [a, b, c].reduce((best, v) => (Math.abs(p - v) < Math.abs(p - best) ? v : best), a);
      const predicted = [0, a, b, (a + b) >> 1, near][filter]!;
      plain[y * stride + i] = raw[y * (stride + 1) + 1 + i]! + predicted;
    }
  if (type === 2) return { width, height, rgb: plain, chunks };
  const rgb = new Uint8Array(3 * width * height);
  plain.forEach((index, i) => {
    if (3 * index + 2 >= palette.length) throw new Error('index beyond the palette');
    rgb.set(palette.subarray(3 * index, 3 * index + 3), 3 * i);
  });
  return { width, height, rgb, chunks };
}
