import { file, type Kind, numbers } from './bytes.js';

const kinds: Readonly<Record<string, Kind>> = {
  F4: 'float32',
  F8: 'float64',
  U1: 'uint8',
  U2: 'uint16',
  U4: 'uint32',
  I2: 'int16',
  I4: 'int32',
};

export interface PcdColumn {
  readonly name: string;
  /** `F4`, `U1`: type and size. */
  readonly type: string;
  readonly values: readonly number[];
}

/** A PCD file of these columns; compressed by runs of literals and references as LZF has them. */
export function pcd(
  columns: readonly PcdColumn[],
  data: 'ascii' | 'binary' | 'binary_compressed',
  comment = '',
): Uint8Array {
  const points = columns[0]!.values.length;
  const line = (word: string, of: (column: PcdColumn) => string | number) => `${word} ${columns.map(of).join(' ')}\n`;
  const header = `# .PCD v0.7\n${comment}VERSION 0.7\n${line('FIELDS', (c) => c.name)}${line('SIZE', (c) => c.type[1]!)}${line('TYPE', (c) => c.type[0]!)}${line('COUNT', () => 1)}WIDTH ${points}\nHEIGHT 1\nVIEWPOINT 0 0 0 1 0 0 0\nPOINTS ${points}\nDATA ${data}\n`;
  const cell = ({ type, values }: PcdColumn, i: number) => numbers(kinds[type]!, [values[i]!]);
  const rows = Array.from({ length: points }, (_, i) => i);
  if (data === 'ascii') return file(header, rows.map((i) => `${columns.map((c) => c.values[i]).join(' ')}\n`).join(''));
  if (data === 'binary') return file(header, ...rows.flatMap((i) => columns.map((c) => cell(c, i))));
  const plain = file(...columns.flatMap((c) => rows.map((i) => cell(c, i))));
  const packed = packLzf(plain);
  return file(header, numbers('uint32', [packed.length, plain.length]), packed);
}

/** LZF as liblzf's format says: the longest match among the last 8,192 bytes, or literals. */
export function packLzf(plain: Uint8Array): Uint8Array {
  const out: number[] = [];
  let literals: number[] = [];
  const flush = () => {
    if (literals.length > 0) out.push(literals.length - 1, ...literals);
    literals = [];
  };
  for (let i = 0; i < plain.length; ) {
    let [length, distance] = [0, 0];
    for (let d = 1; d <= Math.min(i, 8192); d++) {
      let n = 0;
      while (n < 264 && i + n < plain.length && plain[i + n] === plain[i + n - d]) n++;
      if (n > length) [length, distance] = [n, d];
    }
    if (length < 3) {
      literals.push(plain[i++]!);
      if (literals.length === 32) flush();
      continue;
    }
    flush();
    const [high, low] = [(distance - 1) >> 8, (distance - 1) & 255];
    if (length < 9) out.push(((length - 2) << 5) | high, low);
    else out.push((7 << 5) | high, length - 9, low);
    i += length;
  }
  flush();
  return Uint8Array.from(out);
}
