import { once } from 'node:events';
import { Worker } from 'node:worker_threads';
import { expect, test } from 'vitest';
import { checkMeasuring, checkReading, memoryError } from '../../packages/io/src/node/memory.js';

const scan = {
  positions: new Float64Array(3 * 1_000_000),
  triangles: new Uint32Array(3 * 2_000_000),
  units: 'mm',
  name: 'pump.ply',
} as const;

test('a file the memory cannot hold in the leanest of formats is refused before it is read', () => {
  expect(() => checkReading('pump.ply', 30e9, 2e9)).toThrow(
    expect.objectContaining({
      code: 'not-enough-memory',
      message: expect.stringMatching(
        /^pump\.ply: not enough memory: reading it takes 3,?000.* MB at least, and 2,?000.* MB are free/,
      ),
    }),
  );
  expect(() => checkReading('pump.ply', 10e9, 2e9)).not.toThrow();
});

test('a scan whose index the memory cannot hold is refused before it is measured', () => {
  // 1 M points by three floats of 4 bytes, 2 M triangles by three corners of 4 bytes and their share of the tree: 12 MB + 36 MB.
  expect(() => checkMeasuring(scan, 47e6)).toThrow(expect.objectContaining({ code: 'not-enough-memory' }));
  expect(() => checkMeasuring(scan, 48e6)).not.toThrow();
  expect(() => checkMeasuring(scan)).not.toThrow();
});

test('what the engine says of memory it cannot have is told in words', () => {
  const failures = [() => new Float64Array(2 ** 53 - 1), () => new ArrayBuffer(2 ** 53 - 1), () => 'x'.repeat(2 ** 30)];
  for (const fail of failures) {
    let thrown: unknown;
    try {
      fail();
    } catch (error) {
      thrown = error;
    }
    expect(thrown).toBeInstanceOf(RangeError);
    expect(memoryError('pump.ply', thrown)).toMatchObject({
      code: 'not-enough-memory',
      message: expect.stringContaining('pump.ply: not enough memory'),
    });
  }
  const other = new RangeError('toFixed() digits argument must be between 0 and 100');
  expect(memoryError('pump.ply', other)).toBe(other);
});

test('a thread that ran out of the memory Node gives it is told in the same words', async () => {
  const worker = new Worker('const all = []; for (;;) all.push([...all])', {
    eval: true,
    resourceLimits: { maxOldGenerationSizeMb: 16 },
  });
  const [thrown] = await once(worker, 'error');
  expect(memoryError('pump.ply', thrown)).toMatchObject({
    code: 'not-enough-memory',
    message: expect.stringMatching(/^pump\.ply: not enough memory: .*--max-old-space-size raises it/),
  });
  // What the engine says where the address space is limited (`ulimit -v`).
  const short = new RangeError(
    'WebAssembly.instantiate(): Out of memory: Cannot allocate Wasm memory for new instance',
  );
  expect(memoryError('pump.ply', short)).toMatchObject({ code: 'not-enough-memory' });
});
