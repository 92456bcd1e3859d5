import { mkdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import type { Frame, Scan, Vec3 } from '@fettle/geom';
import { jobSheetTable, measuredMarks, renderPicture, writePly } from '@fettle/io';
import { type MeasureProgress, measureFile, readPlan, writeFileWhole } from '@fettle/io/node';
import { casting } from './casting.js';
import { type PumpScanOptions, scanPump } from './scan-pump.js';
import { trueValue } from './true-values.js';
import type { Truth } from './truth.js';

/**
 * The whole job on an invented machine. An old irrigation pump gets a flow sensor, on an adapter plate over its two feet:
 * makes a scan of the pump as a hand-held scanner would, measures it by plan.json, and prints the job sheet with what is
 * true of the pump beside. The files are left in out/.
 *
 *   npm run demo                                     a million triangles
 *   npm run demo -- --triangles 4000000 --seed 2     another scan, finer
 */
const { values: options } = parseArgs({
  options: { triangles: { type: 'string', default: '1000000' }, seed: { type: 'string', default: '1' } },
});

const out = fileURLToPath(new URL('../../out/', import.meta.url));
const scanFile = `${out}pump-scan.ply`;

const { scan, truth } = await makeScan({ triangles: Number(options.triangles), seed: Number(options.seed) });
const plan = await readPlan(fileURLToPath(new URL('plan.json', import.meta.url)));
const measured = await measureFile(plan, scanFile, { out, onProgress: (p) => say(progressText(p)) });
say('');
if (measured.error) throw measured.error;

const { results, files } = measured;
say('drawing pump.png');
const picture = renderPicture(scan, {
  view: { from: [-0.62, -1, 0.7] },
  size: { width: 1360, height: 850 },
  frame: results.frame!,
  focus: aboveBench(scan, results.frame!),
  ...measuredMarks(results, scan),
});
await writeFileWhole(`${out}pump.png`, [picture]);
say('');
const sheet = jobSheetTable(results, {
  width: process.stdout.columns ?? Number(process.env.COLUMNS ?? 120),
  extraColumns: [
    { title: 'true', cell: (row, value) => trueValue(truth, plan, row, value) },
    {
      title: 'off by',
      cell: (row, value) => {
        const is = trueValue(truth, plan, row, value);
        return is === undefined ? undefined : value.value - is;
      },
    },
  ],
});
// The sheet's last paragraph is the caution: it stays last.
const caution = sheet.trimEnd().lastIndexOf('\n\n') + 1;
console.log(sheet.slice(0, caution));
console.log(frameText(results.frame!, truth));
console.log(`In out/: pump-scan.ply, pump.png, ${files.map((file) => file.slice(out.length)).join(', ')}`);
console.log(sheet.slice(caution).trimEnd());

/** Makes the scan and writes it; gives it with what is true of it. */
async function makeScan(how: PumpScanOptions): Promise<{ readonly scan: Scan; readonly truth: Truth }> {
  const { scan, truth } = scanPump({ ...how, onProgress: (what) => say(`making the scan: ${what}`) });
  say('writing pump-scan.ply');
  await mkdir(out, { recursive: true });
  await writeFileWhole(scanFile, writePly(scan));
  return { scan, truth };
}

/** The points of the pump: the piece of bench lies under it. */
function aboveBench({ positions }: Scan, frame: Frame): Uint32Array {
  const height = (i: number): number =>
    frame.z.reduce((sum, c, axis) => sum + c * (positions[3 * i + axis]! - frame.origin[axis]!), 0);
  return Uint32Array.from({ length: positions.length / 3 }, (_, i) => i).filter((i) => height(i) > casting.bottom + 2);
}

function frameText(frame: Frame, { frame: is }: Truth): string {
  const off = Math.hypot(...frame.origin.map((c, axis) => c - is.origin[axis]!));
  const turned = (axis: 'x' | 'y' | 'z'): number => (angle(frame[axis], is[axis]) * 180) / Math.PI;
  const axes = (['x', 'y', 'z'] as const).map((axis) => `${axis} by ${turned(axis).toFixed(4)}°`);
  return `The datum frame is off: its origin by ${off.toFixed(3)} mm, ${axes.join(', ')}.`;
}

function angle(a: Vec3, b: Vec3): number {
  const across = Math.hypot(a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]);
  return Math.atan2(across, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
}

function progressText(progress: MeasureProgress): string {
  if (progress.stage === 'measuring') return `measuring: ${progress.step.id}`;
  return progress.stage === 'writing' ? `writing ${progress.file}` : `${progress.stage} pump-scan.ply`;
}

/** One line on a terminal that says what is going on; nothing elsewhere. */
function say(text: string): void {
  if (process.stderr.isTTY) process.stderr.write(`\r\u001b[K${text}`);
}
