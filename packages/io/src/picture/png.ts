import { zlibSync } from 'fflate';

/** Pixels of a picture, row by row from the top. */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  /** Red, green, blue, 0 to 255, three a pixel. */
  readonly rgb: Uint8Array;
}

export interface PngOptions {
  /** Store at most 256 colors, the ones the picture uses most: a third of the bytes, no difference to the eye. Default false. */
  readonly palette?: boolean;
}

/**
 * Pixels as the bytes of a PNG file (ISO/IEC 15948): eight bits, true color with a filter chosen for each row by the least sum of
 * differences (the standard's own advice), or a palette without filters.
 */
export function pngBytes(pixels: Pixels, options: PngOptions = {}): Uint8Array<ArrayBuffer> {
  const { width, height } = pixels;
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  header[8] = 8;
  header[9] = options.palette ? 3 : 2;
  const palette = options.palette ? paletteOf(pixels) : undefined;
  const rows = palette ? withoutFilters(palette.indices, width, height) : filtered(pixels);
  return joined([
    Uint8Array.of(137, 80, 78, 71, 13, 10, 26, 10),
    chunk('IHDR', header),
    ...(palette ? [chunk('PLTE', palette.colors)] : []),
    chunk('IDAT', zlibSync(rows, { level: 9 })),
    chunk('IEND', new Uint8Array(0)),
  ]);
}

const crcTable = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

function crc(bytes: Uint8Array): number {
  let c = 0xffffffff;
  for (let i = 0; i < bytes.length; i++) c = crcTable[(c ^ bytes[i]!) & 255]! ^ (c >>> 8);
  return ~c >>> 0;
}

/** A chunk: length, four letters and data, checked by a CRC over the last two. */
function chunk(type: string, data: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(12 + data.length);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, data.length);
  for (let i = 0; i < 4; i++) bytes[4 + i] = type.charCodeAt(i);
  bytes.set(data, 8);
  view.setUint32(8 + data.length, crc(bytes.subarray(4, 8 + data.length)));
  return bytes;
}

function joined(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

function withoutFilters(indices: Uint8Array, width: number, height: number): Uint8Array {
  const rows = new Uint8Array((width + 1) * height);
  for (let y = 0; y < height; y++) rows.set(indices.subarray(y * width, (y + 1) * width), y * (width + 1) + 1);
  return rows;
}

/** Bytes a pixel. */
const BPP = 3;

function filtered({ width, height, rgb }: Pixels): Uint8Array {
  const stride = width * BPP;
  const rows = new Uint8Array((stride + 1) * height);
  const none = new Uint8Array(stride);
  const tries = Array.from({ length: 5 }, () => new Uint8Array(stride));
  for (let y = 0; y < height; y++) {
    const row = rgb.subarray(y * stride, (y + 1) * stride);
    const above = y > 0 ? rgb.subarray((y - 1) * stride, y * stride) : none;
    const sums = [0, 0, 0, 0, 0];
    for (let i = 0; i < stride; i++) {
      const a = i >= BPP ? row[i - BPP]! : 0;
      const b = above[i]!;
      const c = i >= BPP ? above[i - BPP]! : 0;
      const pa = Math.abs(b - c);
      const pb = Math.abs(a - c);
      const pc = Math.abs(a + b - 2 * c);
      const paeth = pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
      const x = row[i]!;
      tries[0]![i] = x;
      tries[1]![i] = x - a;
      tries[2]![i] = x - b;
      tries[3]![i] = x - ((a + b) >> 1);
      tries[4]![i] = x - paeth;
      for (let f = 0; f < 5; f++) {
        const d = tries[f]![i]!;
        sums[f]! += d < 128 ? d : 256 - d;
      }
    }
    const best = sums.indexOf(Math.min(...sums));
    rows[y * (stride + 1)] = best;
    rows.set(tries[best]!, y * (stride + 1) + 1);
  }
  return rows;
}

/** Bits a channel that colors are told apart by when a palette is chosen. */
const BITS = 6;
const SHIFT = 8 - BITS;

/** A part of the color cube that gets one color of the palette. */
interface Part {
  /** Cells of the cube, each r, g, b of BITS bits, that the picture uses. */
  readonly cells: readonly number[];
  readonly count: number;
}

const channel = (cell: number, k: number): number => (cell >> (BITS * (2 - k))) & ((1 << BITS) - 1);

/** At most 256 colors by median cut (P. Heckbert, SIGGRAPH 1982), and the color of each pixel. */
function paletteOf({ rgb }: Pixels): { colors: Uint8Array; indices: Uint8Array } {
  const cellOf = (i: number): number =>
    ((rgb[i]! >> SHIFT) << (2 * BITS)) | ((rgb[i + 1]! >> SHIFT) << BITS) | (rgb[i + 2]! >> SHIFT);
  const size = 1 << (3 * BITS);
  const counts = new Uint32Array(size);
  const sums = [0, 1, 2].map(() => new Float64Array(size));
  for (let i = 0; i < rgb.length; i += 3) {
    const cell = cellOf(i);
    counts[cell]!++;
    for (let k = 0; k < 3; k++) sums[k]![cell]! += rgb[i + k]!;
  }
  const used: number[] = [];
  for (let cell = 0; cell < size; cell++) if (counts[cell]! > 0) used.push(cell);
  const parts: Part[] = [{ cells: used, count: rgb.length / 3 }];
  while (parts.length < 256) {
    const widest = parts.reduce((best, part, p) => (urgency(part) > urgency(parts[best]!) ? p : best), 0);
    if (parts[widest]!.cells.length < 2) break;
    parts.splice(widest, 1, ...halves(parts[widest]!, counts));
  }
  const colors = new Uint8Array(3 * parts.length);
  const indexOf = new Uint8Array(size);
  parts.forEach(({ cells }, p) => {
    let count = 0;
    const sum = [0, 0, 0];
    for (const cell of cells) {
      indexOf[cell] = p;
      count += counts[cell]!;
      for (let k = 0; k < 3; k++) sum[k]! += sums[k]![cell]!;
    }
    for (let k = 0; k < 3; k++) colors[3 * p + k] = Math.round(sum[k]! / count);
  });
  const indices = new Uint8Array(rgb.length / 3);
  for (let p = 0; p < indices.length; p++) indices[p] = indexOf[cellOf(3 * p)]!;
  return { colors, indices };
}

const extents = new WeakMap<Part, { span: number; widest: number }>();

/** The widest channel of a part and its extent. */
function extentOf(part: Part): { span: number; widest: number } {
  const known = extents.get(part);
  if (known) return known;
  const extent = { span: -1, widest: 0 };
  for (let k = 0; k < 3; k++) {
    let [low, high] = [1 << BITS, 0];
    for (const cell of part.cells) {
      low = Math.min(low, channel(cell, k));
      high = Math.max(high, channel(cell, k));
    }
    if (high - low > extent.span) Object.assign(extent, { span: high - low, widest: k });
  }
  extents.set(part, extent);
  return extent;
}

/** A part is cut the sooner the wider it is; many pixels count less than a wide one, or thin marks would lose their color. */
const urgency = (part: Part): number => (part.cells.length < 2 ? -1 : extentOf(part).span ** 2 * part.count ** 0.25);

function halves(part: Part, counts: Uint32Array): [Part, Part] {
  const { widest } = extentOf(part);
  const cells = [...part.cells].sort((a, b) => channel(a, widest) - channel(b, widest) || a - b);
  let before = 0;
  let cut = 0;
  while (cut < cells.length - 1 && before + counts[cells[cut]!]! / 2 < part.count / 2) before += counts[cells[cut++]!]!;
  cut = Math.max(1, cut);
  const count = cells.slice(0, cut).reduce((sum, cell) => sum + counts[cell]!, 0);
  return [
    { cells: cells.slice(0, cut), count },
    { cells: cells.slice(cut), count: part.count - count },
  ];
}
