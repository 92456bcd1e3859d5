import { createHash, randomBytes } from 'node:crypto';
import { readFileSync, readlinkSync } from 'node:fs';
import { readdir, rm, stat } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';

/**
 * What a run writes aside bears the run's name: the machine, since when it is up, the process, and since when that runs. So the next run can tell
 * what a dead one left behind from what another is writing.
 */
interface Owner {
  readonly machine: string;
  readonly boot: string;
  readonly pid: string;
  readonly start: string;
}

const NAME = /^\.fettle-(?<machine>[0-9a-f]{8})-(?<boot>[0-9a-f]{8})-(?<pid>\d+)-(?<start>\d+)-[0-9a-f]{12}$/;
/** Where a machine does not tell. */
const UNKNOWN = '00000000';

/** A name for what is written aside, of a file or a folder; short whatever the file is called that comes of it. */
export function stagingName(): string {
  const { machine, boot, pid, start } = self();
  return `.fettle-${machine}-${boot}-${pid}-${start}-${randomBytes(6).toString('hex')}`;
}

/** Takes away what runs that are dead have left in a folder. What might be a living one's, or cannot be taken away, stays. */
export async function sweep(folder: string): Promise<void> {
  for (const name of await readdir(folder).catch(() => [])) {
    const owner = NAME.exec(name)?.groups as Owner | undefined;
    if (owner && isDead(owner)) await remove(join(folder, name));
  }
}

/** Takes a file or folder away if that can be done: what it was for has its own error to tell. */
export const remove = (path: string): Promise<void> =>
  rm(path, { recursive: true, force: true }).catch(() => undefined);

/** The permissions of a file that is going to be replaced; undefined where there is none. */
export async function modeOf(path: string): Promise<number | undefined> {
  try {
    const found = await stat(path);
    return found.isFile() ? found.mode & 0o777 : undefined;
  } catch {
    return undefined;
  }
}

let own: Owner | undefined;

function self(): Owner {
  own ??= {
    machine: short([hostname(), told('/etc/machine-id'), linkTold('/proc/self/ns/pid')].join('\n')),
    // Two machines may share a name, so that nothing follows from another start of them unless they have a number of their own.
    boot: told('/etc/machine-id') === '' ? UNKNOWN : short(told('/proc/sys/kernel/random/boot_id')),
    pid: String(process.pid),
    start: startOf(process.pid)?.start ?? '0',
  };
  return own;
}

/** Whether it is certain that the process no longer runs. */
function isDead({ machine, boot, pid, start }: Owner): boolean {
  const here = self();
  if (machine !== here.machine) return false;
  if (boot !== here.boot) return boot !== UNKNOWN && here.boot !== UNKNOWN;
  try {
    process.kill(Number(pid), 0);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ESRCH') return true;
  }
  const now = startOf(Number(pid));
  // Another process has the number by now, or nobody has asked yet how it ended.
  return now !== undefined && (now.start !== start || now.ended);
}

/** When a process was started, in ticks since the machine was, by `proc(5)`; undefined where that is not told. */
function startOf(pid: number): { readonly start: string; readonly ended: boolean } | undefined {
  const text = told(`/proc/${pid}/stat`);
  // The second field is the program's name in parentheses, which may hold anything; the start is the 22nd.
  const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
  const start = fields[22 - 3];
  return start === undefined ? undefined : { start, ended: fields[0] === 'Z' || fields[0] === 'X' };
}

const short = (text: string): string => createHash('sha256').update(text).digest('hex').slice(0, UNKNOWN.length);

function told(path: string): string {
  try {
    return readFileSync(path, 'utf8').trim();
  } catch {
    return '';
  }
}

function linkTold(path: string): string {
  try {
    return readlinkSync(path);
  } catch {
    return '';
  }
}
