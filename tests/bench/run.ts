/**
 * npm run bench                  all tasks but the long ones
 * npm run bench -- --all         all tasks
 * npm run bench -- read section  tasks whose file name starts so
 * npm run bench -- --record      writes each task's table into results.md, in place of what stands there under its title
 */
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import type { Row, Task } from './task.js';

const arguments_ = process.argv.slice(2);
const one = arguments_.indexOf('--one');
if (one >= 0) {
  const { task } = (await import(new URL(`tasks/${arguments_[one + 1]}`, import.meta.url).href)) as { task: Task };
  if (task.long && !arguments_.includes('--long')) process.exit(0);
  process.stdout.write(`\n\0${JSON.stringify({ title: task.title, rows: await task.run() })}\n`);
  process.exit(0);
}

const names = arguments_.filter((a) => !a.startsWith('--'));
const isRecorded = arguments_.includes('--record');
const files = readdirSync(new URL('tasks/', import.meta.url))
  .filter((f) => f.endsWith('.ts') && (names.length === 0 || names.some((n) => f.startsWith(n))))
  .sort();

const columns = ['what', 'ours', 'peer', 'ratio', 'bound', 'held'] as const;
let failed = 0;
console.log(`${cpus().length} cores, Node ${process.versions.node}`);
for (const file of files) {
  const flags = [
    '--expose-gc',
    '--max-old-space-size=16384',
    '--import',
    'tsx',
    new URL(import.meta.url).pathname,
    '--one',
    file,
  ];
  if (names.length > 0 || arguments_.includes('--all')) flags.push('--long');
  let output: string;
  try {
    output = execFileSync(process.execPath, flags, {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'inherit'],
      maxBuffer: 1 << 26,
    });
  } catch {
    console.log(`\n${file}: did not finish`);
    failed++;
    continue;
  }
  const mark = output.lastIndexOf('\n\0');
  if (mark < 0) continue;
  const { title, rows } = JSON.parse(output.slice(mark + 2)) as { title: string; rows: Row[] };
  failed += rows.filter((r) => !r.held).length;
  print(title, rows);
}
console.log(failed === 0 ? '\nEvery bound held.' : `\n${failed} bound${failed === 1 ? '' : 's'} not held.`);
process.exitCode = failed === 0 ? 0 : 1;

function print(title: string, rows: readonly Row[]): void {
  const cells = rows.map((r) => columns.map((c) => (c === 'held' ? (r.held ? 'yes' : 'NO') : (r[c] ?? ''))));
  if (isRecorded) record(title, cells);
  const widths = columns.map((c, i) => Math.max(c.length, ...cells.map((row) => row[i].length)));
  const line = (row: readonly string[]) =>
    row
      .map((cell, i) => cell.padEnd(widths[i]))
      .join('  ')
      .trimEnd();
  console.log(`\n${title}\n${line(columns)}`);
  for (const row of cells) console.log(line(row));
}

/** Replaces what `results.md` has under a task's title, or adds it. */
function record(title: string, cells: readonly (readonly string[])[]): void {
  const path = new URL('results.md', import.meta.url);
  const [head, ...parts] = readFileSync(path, 'utf8').split(/^(?=## )/m);
  const lines = [columns, columns.map(() => '---'), ...cells].map((row) => `| ${row.join(' | ')} |`);
  const part = `## ${title}\n\n${lines.join('\n')}\n\n`;
  const at = parts.findIndex((other) => other.startsWith(`## ${title}\n`));
  if (at < 0) parts.push(part);
  else parts[at] = part;
  writeFileSync(path, `${head}${parts.map((one) => `${one.trimEnd()}\n`).join('\n')}`);
}
