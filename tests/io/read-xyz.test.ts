import { readScan, writeXyz } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { XyzReader } from '../../packages/io/src/read/xyz.js';
import { file } from './bytes.js';

const read = (text: string, options = {}) => readScan(file(text), { name: 'cloud.txt', units: 'mm', ...options });
const points = [0, 0.5, -1, 1, 2e-3, 3, 4, 5, 6];

describe('a list of points', () => {
  it.each([
    ['separated by blanks', '0 0.5 -1\n1 2e-3 3\n4 5 6\n'],
    ['by tabs', '0\t0.5\t-1\n1\t2e-3\t3\n4\t5\t6\n'],
    ['by commas', '0,0.5,-1\n1,2e-3,3\n4,5,6\n'],
    ['by commas and blanks', '0, 0.5, -1\n1 ,2e-3 , 3\n4,5,6 \n'],
    ['by commas, one at the end of each line', '0,0.5,-1,\n1,2e-3,3,\n4,5,6,\n'],
    ['by semicolons', '0;0.5;-1\n1; 2e-3; 3\n4;5;6\n'],
    ['with carriage returns and line feeds', '0 0.5 -1\r\n1 2e-3 3\r\n4 5 6\r\n'],
    ['with carriage returns', '0 0.5 -1\r1 2e-3 3\r4 5 6\r'],
    ['with comments of every kind and blank lines', '# a\n// b\n% c\n\n0 0.5 -1\n# d\n1 2e-3 3\n\n4 5 6\n'],
    ['with the count of its points', '3\n0 0.5 -1\n1 2e-3 3\n4 5 6\n'],
    ['in two lists with a count each', '2\n0 0.5 -1\n1 2e-3 3\n1\n4 5 6\n'],
    ['with a mark of UTF-8 at the start', '\ufeff0 0.5 -1\n1 2e-3 3\n4 5 6\n'],
    ['without a line end at the end', '0 0.5 -1\n1 2e-3 3\n4 5 6'],
    ['under a heading', 'X Y Z\n0 0.5 -1\n1 2e-3 3\n4 5 6\n'],
    ['under a heading that is a comment', '//X,Y,Z\n0,0.5,-1\n1,2e-3,3\n4,5,6\n'],
    ['under a heading in another order, and among others', 'id;z;y;x\n7;-1;0.5;0\n8;3;2e-3;1\n9;6;5;4\n'],
  ])('%s', async (_, text) => {
    const scan = await read(text);
    expect([...scan.positions]).toEqual(points);
    expect(scan.triangles).toBeUndefined();
    expect(scan.source).toMatchObject({ format: 'xyz', encoding: 'text' });
  });

  it('of one point is a scan', async () => {
    expect([...(await read('1 2 3\n')).positions]).toEqual([1, 2, 3]);
  });

  it('windows of any size show the reader the same', () => {
    const bytes = file('# units mm\nX;Y;Z;nx;ny;nz\n0;1;2;0;0;1\r\n# c\n3;4.25;5e1;0;0.6;0.8\n\n6;7;8;1;0;0');
    const at = (capacity: number) => {
      const reader = new XyzReader({ name: 'scan', keepWhole: false, warnings: [] }, capacity);
      reader.push(bytes);
      return reader.end();
    };
    for (let capacity = 8; capacity < 100; capacity++) expect(at(capacity)).toEqual(at(4096));
  });
});

describe('columns', () => {
  it('are told by their heading', async () => {
    const scan = await read('X,Y,Z,Red,Green,Blue,Nx,Ny,Nz\n1,2,3,10,20,30,0,0,1\n4,5,6,40,50,60,0,1,0\n');
    expect([...scan.colors!]).toEqual([10, 20, 30, 40, 50, 60]);
    expect([...scan.normals!]).toEqual([0, 0, 1, 0, 1, 0]);
    expect(scan.source.warnings).toEqual([]);
  });

  it('may say their unit in the heading', async () => {
    const scan = await readScan(file('X [m]; Y [m]; Z [m]\n1;2;3\n2;3;4\n'));
    expect([...scan.positions]).toEqual([1000, 2000, 3000, 2000, 3000, 4000]);
    expect(scan.source).toMatchObject({ unit: 'm', unitFrom: 'file' });
  });

  it.each([
    [
      'of unit length behind the coordinates are normals',
      '1 2 3 0 0.6 0.8\n4 5 6 1 0 0\n',
      'normals',
      [0, 0.6, 0.8, 1, 0, 0],
    ],
    ['of whole numbers of 0 to 255 are colors', '1 2 3 0 128 255\n4 5 6 1 2 3\n', 'colors', [0, 128, 255, 1, 2, 3]],
    [
      'of colors may stand behind an intensity',
      '1 2 3 -800 0 128 255\n4 5 6 200 1 2 3\n',
      'colors',
      [0, 128, 255, 1, 2, 3],
    ],
  ] as const)('%s', async (_, text, what, values) => {
    const scan = await read(text);
    expect(Array.from(scan[what]!, (v) => Number(v.toFixed(6)))).toEqual(values);
    expect([...scan.positions]).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('without names are guessed, and the scan says how', async () => {
    const scan = await read('1 2 3 0.5 0 0 1 9 8 7\n4 5 6 0.7 0 1 0 6 5 4\n');
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'cloud.txt: the file does not name its 10 columns. Taken: 1 to 3 coordinates, 5 to 7 normals, 8 to 10 colors; 1 left out.',
    ]);
  });
});

describe('a bad list is refused with the line', () => {
  it.each([
    [
      '1,5 2,5 3,5\n',
      'decimal-comma',
      "line 1: '1,5 2,5 3,5' has commas where decimals take a point. Export it again.",
    ],
    [
      '1,5;2,5;3,5\n',
      'decimal-comma',
      "line 1: '1,5;2,5;3,5' has commas where decimals take a point. Export it again.",
    ],
    ['1;2;3\n1,5;2;3\n', 'decimal-comma', "line 2: '1,5' has a comma where decimals take a point. Export it again."],
    ['1 2 3\n\n4 5\n', 'wrong-count', 'line 3: has 2 values, the first row has 3. Export it again.'],
    ['1 2 3\n4 5 6 7\n', 'wrong-count', 'line 2: has 4 values, the first row has 3. Export it again.'],
    ['1,2,3\n4,,6\n', 'bad-number', 'line 2: a field is empty. Export it again.'],
    ['1 2 3\n4 five 6\n', 'bad-number', "line 2: holds 'five' where a number belongs. Export it again."],
    ['3\n1 2 3\n4 5 6\n', 'cut-short', 'point 3 of 3 cut short: the file ends after line 3. Export it again.'],
    ['nan nan nan\n', 'not-finite', 'no point has three coordinates that are numbers (1 point read). Export it again.'],
    [
      '1 2\n3 4\n',
      'not-a-scan',
      "no scan this program reads: text, beginning '1 2'. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
    ],
    [
      'x y z\nno rows\n',
      'not-a-scan',
      "no scan this program reads: text, beginning 'x y z'. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
    ],
    [
      '12\nmonkeys\n',
      'not-a-scan',
      "no scan this program reads: text, beginning '12'. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
    ],
  ])('%j', async (text, code, message) => {
    await expect(read(text)).rejects.toMatchObject({ code, message: `cloud.txt: ${message}` });
  });

  it('cut short, it gives what is whole where that is asked for', async () => {
    const scan = await read('3\n1 2 3\n4 5 6\n', { keepWhole: true });
    expect(scan.positions).toHaveLength(6);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'cloud.txt: point 3 of 3 cut short: the file ends after line 3. Lost: 1 point.',
    ]);
  });
});

describe('writeXyz', () => {
  it('writes a heading and the fewest digits, and reads back equal', async () => {
    const scan = {
      name: 'cloud',
      units: 'mm' as const,
      positions: Float64Array.of(0.1, -0, 1e-7, 1 / 3, 123456.789, -1e21),
      normals: Float32Array.of(0, 0, 1, 0.6, 0, 0.8),
      colors: Uint8Array.of(0, 128, 255, 1, 2, 3),
    };
    const text = new TextDecoder().decode(Array.from(writeXyz(scan))[0]);
    expect(text.split('\n').slice(0, 3)).toEqual([
      '# units mm',
      '# x y z nx ny nz red green blue',
      '0.1 -0 1e-7 0 0 1 0 128 255',
    ]);
    const { positions, normals, colors, source } = await readScan(writeXyz(scan));
    expect({ positions, normals, colors }).toEqual({
      positions: scan.positions,
      normals: scan.normals,
      colors: scan.colors,
    });
    expect(source).toMatchObject({ format: 'xyz', unit: 'mm', unitFrom: 'file', warnings: [] });
  });
});
