import { checkPlan, type Plan, type Step } from '@fettle/geom';
import { bytesOf, writePly, writeStl } from '@fettle/io';
import { expect, test } from 'vitest';
import { createSession } from '../../packages/viewer/src/session/create-session.js';
import type { Keep, KeptHistory, ScanOrigin } from '../../packages/viewer/src/session/keep.js';
import type { Session } from '../../packages/viewer/src/session/session.js';
import { createMeasurer } from '../../packages/viewer/src/worker/measurer.js';
import { part } from '../geom/plan-part.js';

// The page's state with its real measurer, both in this thread.

const { scan, axes } = part();
const inScan = (p: readonly [number, number, number]) => axes.toScan(p);
const blockFile = () => new File([bytesOf(writePly(scan))], 'block.ply');

const skin = (id: string, center: readonly [number, number, number], radius: number): Step => ({
  step: 'region',
  id,
  sphere: { center: inScan(center), radius },
});
const plane = (id: string, to: string): Step => ({ step: 'fit', id, shape: 'plane', to });
const top = [skin('top-skin', [70, 40, 0], 12), plane('top', 'top-skin')];
const front = [skin('front-skin', [60, -0.5, -10], 9), plane('front', 'front-skin')];
const side = [skin('side-skin', [-0.35, 40, -10], 9), plane('side', 'side-skin')];
const datum: Step = { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] };
const edge: Step = { step: 'construct', id: 'edge', intersect: ['top', 'front'] };

/** A store in memory. `room`: bytes of scan it takes. */
function memoryKeep(room = Infinity) {
  const kept: { scan?: ScanOrigin | undefined; history?: KeptHistory } = {};
  const keep: Keep = {
    loadScan: async () => kept.scan,
    loadHistory: async () => kept.history,
    async saveScan(origin) {
      kept.scan = undefined;
      if (typeof origin === 'object' && origin.file.size > room) throw new DOMException('full', 'QuotaExceededError');
      kept.scan = origin;
    },
    async forgetLeftScans() {},
    async saveHistory(history) {
      if (room < 0) throw new DOMException('full', 'QuotaExceededError');
      kept.history = structuredClone(history);
      return 'all';
    },
  };
  return { keep, kept };
}

const newSession = (keep?: Keep): Session =>
  createSession({ measurer: createMeasurer('http://localhost/'), ...(keep && { keep }) });

async function openedBlock(keep?: Keep): Promise<Session> {
  const session = newSession(keep);
  await session.restored;
  await session.openFile(blockFile());
  return session;
}

const ids = (session: Session) => session.plan.value.steps.map(({ id }) => id);
const rows = (session: Session) => session.run.value.steps.flatMap(({ row }) => (row ? [row.id] : []));
const notices = (session: Session) => session.notices.value.map(({ message }) => message);
/** Waits for the acts that promise nothing. */
const settled = (session: Session) => session.move('none', 0);

test('a scan opens; steps are added, and give rows', async () => {
  const session = await openedBlock();
  expect(session.scan.value).toMatchObject({ name: 'block.ply', points: scan.positions.length / 3 });
  expect(session.plan.value.title).toBe('block');
  expect(await session.append([...top, ...front])).toBe(true);
  expect(await session.append([edge])).toBe(true);
  expect(rows(session)).toEqual(['top', 'front', 'edge']);
  const shown = session.run.value.steps.find(({ id }) => id === 'top')!;
  // The patch is a disc of 12 mm radius in points 2 mm apart; its outline a rectangle about as large.
  const [outline] = shown.drawn!.lines;
  expect(outline!.length).toBe(15);
  const corner = [outline![0]! - outline![6]!, outline![1]! - outline![7]!, outline![2]! - outline![8]!];
  expect(Math.hypot(...corner)).toBeGreaterThan(28);
  expect(Math.hypot(...corner)).toBeLessThan(36);
});

test('undone to the start and redone to the end the plan and its results are the same', async () => {
  const session = await openedBlock();
  for (const steps of [top, front, side, [edge], [datum]]) await session.append(steps);
  await session.edit('top', { ...plane('top', 'top-skin'), reject: 3.5 } as Step);
  await session.remove(['edge']);
  const before = JSON.stringify([session.plan.value, session.run.value]);
  let count = 0;
  for (; session.canUndo.value; count++) {
    session.undo();
    await settled(session);
  }
  expect(count).toBe(7);
  expect(session.plan.value.steps).toEqual([]);
  expect(session.run.value.steps).toEqual([]);
  while (session.canRedo.value) {
    session.redo();
    await settled(session);
  }
  expect(JSON.stringify([session.plan.value, session.run.value])).toBe(before);
});

test('a step that does not run is not added, and says why', async () => {
  const session = await openedBlock();
  await session.append(top);
  const before = session.plan.value;
  expect(await session.append([skin('far', [0, 0, 900], 1)])).toBe(false);
  expect(session.plan.value).toBe(before);
  expect(session.notices.value).toMatchObject([{ tone: 'refusal', code: 'region-empty' }]);
  expect(await session.append([plane('other', 'nowhere')])).toBe(false);
  expect(session.notices.value.at(-1)).toMatchObject({ tone: 'refusal', code: 'plan-invalid' });
  expect(rows(session)).toEqual(['top']);
});

test('taken out with all that rests on it, and with the regions made for that alone', async () => {
  const session = await openedBlock();
  await session.append([...top, ...front, ...side, edge, datum]);
  expect(session.restingOn('front')).toEqual(['edge', 'datum']);
  session.selected.value = ['side', 'edge'];
  await session.remove(['front']);
  expect(ids(session)).toEqual(['top-skin', 'top', 'side-skin', 'side']);
  expect(session.selected.value).toEqual(['side']);
});

test('renamed, and all that name it follow', async () => {
  const session = await openedBlock();
  await session.append([...top, ...front, ...side, edge, datum]);
  session.selected.value = ['top'];
  await session.edit('top', plane('upper-face', 'top-skin'));
  const named = session.plan.value.steps.flatMap((step) =>
    step.step === 'construct' && 'intersect' in step
      ? step.intersect
      : step.step === 'frame' && 'planes' in step
        ? step.planes
        : [],
  );
  expect(named).toEqual(['upper-face', 'front', 'upper-face', 'front', 'side']);
  expect(session.selected.value).toEqual(['upper-face']);
  expect(rows(session)).toEqual(['upper-face', 'front', 'side', 'edge', 'datum']);
  expect(await session.edit('front', plane('side', 'front-skin'))).toBe(false);
});

test('moved up and down with its region, as far as what it rests on and what rests on it allow', async () => {
  const session = await openedBlock();
  await session.append([...top, ...front, ...side, edge]);
  expect(await session.move('side', -1)).toBe(true);
  expect(ids(session)).toEqual(['top-skin', 'top', 'side-skin', 'side', 'front-skin', 'front', 'edge']);
  expect(await session.move('edge', -1)).toBe(false);
  expect(await session.move('side', 9)).toBe(true);
  expect(ids(session)).toEqual(['top-skin', 'top', 'front-skin', 'front', 'edge', 'side-skin', 'side']);
  expect(await session.move('top', 1)).toBe(true);
  expect(await session.move('top', 1)).toBe(false);
  expect(rows(session)).toEqual(['front', 'top', 'edge', 'side']);
});

test('what was kept comes back: plan, how it came about, scan and results', async () => {
  const { keep } = memoryKeep();
  const session = await openedBlock(keep);
  await session.append([...top, ...front]);
  await session.append([edge]);
  session.undo();
  await settled(session);
  await new Promise((resolve) => setTimeout(resolve, 400));
  const next = newSession(keep);
  await next.restored;
  expect(next.scan.value?.name).toBe('block.ply');
  expect(JSON.stringify([next.plan.value, next.run.value])).toBe(
    JSON.stringify([session.plan.value, session.run.value]),
  );
  expect([next.canUndo.value, next.canRedo.value]).toEqual([true, true]);
  next.redo();
  await settled(next);
  expect(rows(next)).toEqual(['top', 'front', 'edge']);
});

test('a store that is full is said, and nothing is lost', async () => {
  const { keep, kept } = memoryKeep(1000);
  const session = await openedBlock(keep);
  expect(notices(session).join()).toMatch(/storage is full.*open the scan again/s);
  await session.append(top);
  await new Promise((resolve) => setTimeout(resolve, 400));
  expect(kept.history?.plans.at(-1)?.steps).toHaveLength(2);
  const next = newSession(keep);
  await next.restored;
  expect(notices(next).join()).toMatch(/"block" is still here/);
  await next.openFile(blockFile());
  expect(rows(next)).toEqual(['top']);

  const none = memoryKeep(-1);
  const third = await openedBlock(none.keep);
  await third.append(top);
  await new Promise((resolve) => setTimeout(resolve, 400));
  expect(notices(third).filter((message) => /a reload would lose it/.test(message))).toHaveLength(1);
  expect(notices(third).join()).not.toMatch(/Your plan is: after a reload/);
  expect(rows(third)).toEqual(['top']);
});

test('a plan is brought back though the scan cannot be, and that is said', async () => {
  const { keep } = memoryKeep();
  const first = await openedBlock(keep);
  await first.append(top);
  await settled(first);
  const damaged = { ...keep, loadScan: () => Promise.reject(new Error('The store is damaged.')) };
  const next = newSession(damaged);
  await next.restored;
  expect(ids(next)).toEqual(['top-skin', 'top']);
  expect(notices(next)).toEqual(['The store is damaged.', 'The plan "block" is still here. Open its scan to go on.']);
});

test('a plan dropped on the scan, or the scan on the plan', async () => {
  const plan: Plan = checkPlan({ version: 1, title: 'Two faces', steps: [...top, ...front] });
  const file = () => new File([JSON.stringify(plan)], 'plan.json');
  const first = await openedBlock();
  await first.openFile(file());
  expect([first.plan.value.title, ...rows(first)]).toEqual(['Two faces', 'top', 'front']);
  const second = newSession();
  await second.openFile(file());
  expect(rows(second)).toEqual([]);
  await second.openFile(blockFile());
  expect(JSON.stringify(second.run.value)).toBe(JSON.stringify(first.run.value));
});

test.each(['\uFEFF', ''])('a plan that an editor saved in UTF-16, with %j before it, is a plan', async (mark) => {
  const plan = { version: 1, title: 'Flansch ∅ 18', steps: top };
  const little = Buffer.from(mark + JSON.stringify(plan), 'utf16le');
  for (const bytes of [little, Buffer.from(little).swap16()]) {
    const session = newSession();
    await session.openFile(new File([bytes], 'plan.json'));
    expect(notices(session)).toEqual([]);
    expect(session.plan.value.title).toBe('Flansch ∅ 18');
  }
});

test('a scan whose file has the longest name there is has a title a plan may have', async () => {
  const session = newSession();
  await session.openFile(new File([bytesOf(writePly(scan))], `${'b'.repeat(251)}.ply`));
  await session.append(top);
  expect([session.plan.value.title, notices(session)]).toEqual(['b'.repeat(200), []]);
});

test('a plan opened while a scan is read again in another unit is measured on what comes', async () => {
  const session = newSession();
  const { positions } = scan;
  const small = { ...scan, positions: positions.map((v) => v / 1000) };
  await session.openFile(new File([bytesOf(writeStl(small))], 'small.stl'));
  expect(session.scan.value!.otherUnits!.map(({ unit }) => unit)).toEqual(['m']);
  const reading = session.readAgain({ units: 'm' });
  const plan = { version: 1, title: 'Two faces', steps: [...top, ...front] };
  await Promise.all([reading, session.openFile(new File([JSON.stringify(plan)], 'plan.json'))]);
  expect([session.plan.value.title, ...rows(session)]).toEqual(['Two faces', 'top', 'front']);
  expect(notices(session)).toEqual([]);
});

test('a plan opened while a scan is read that is then called off is put on the scan of before', async () => {
  const session = await openedBlock();
  const opening = session.openFile(blockFile());
  const plan = { version: 1, title: 'Two faces', steps: [...top, ...front] };
  const planned = session.openFile(new File([JSON.stringify(plan)], 'plan.json'));
  session.cancelOpening();
  await Promise.all([opening, planned]);
  expect([session.plan.value.title, ...rows(session)]).toEqual(['Two faces', 'top', 'front']);
});

test('the plan of another scan: which steps give nothing, and why; the others stand', async () => {
  const session = await openedBlock();
  const plan = { version: 1, title: 'Other', steps: [skin('far', [0, 0, 900], 1), plane('face', 'far'), ...top] };
  await session.openFile(new File([JSON.stringify(plan)], 'other.json'));
  expect(rows(session)).toEqual(['top']);
  expect(notices(session)).toEqual([
    expect.stringMatching(/^2 of 4 steps give nothing on block.ply.*\n {2}far: .*\n1 more wait for it/),
  ]);
});

test('another scan puts the plan aside, and undo puts it on that scan', async () => {
  const session = await openedBlock();
  await session.append(top);
  await session.openFile(new File([bytesOf(writePly(part({ noise: 0.02 }).scan))], 'again.ply'));
  expect(session.plan.value).toMatchObject({ title: 'again', steps: [] });
  session.undo();
  await settled(session);
  expect(rows(session)).toEqual(['top']);
});

test('files that cannot be read are refused with the message of the reader; what is open stays', async () => {
  const session = await openedBlock();
  await session.append(top);
  const whole = bytesOf(writePly(scan));
  await session.openFile(new File([whole.slice(0, whole.length - 1000)], 'short.ply'));
  await session.openFile(new File(['Dear all,\nplease find attached\n'], 'letter.txt'));
  await session.openFile(new File(['{ "version": 1, "title": "x", "steps": [ }'], 'broken.json'));
  await session.openFile(new File(['{ "version": 1, "title": "x", "steps": [] }'], 'empty.json'));
  expect(session.notices.value.map(({ code }) => code)).toEqual([
    'cut-short',
    'not-a-scan',
    'plan-not-json',
    'plan-invalid',
  ]);
  expect(notices(session)[0]).toMatch(/^short\.ply: /);
  expect(session.opening.value).toBeUndefined();
  expect(session.scan.value?.name).toBe('block.ply');
  expect(rows(session)).toEqual(['top']);
});

test('what is whole of a file that ends early, when asked for', async () => {
  const session = newSession();
  const whole = bytesOf(writePly(scan));
  await session.openFile(new File([whole.slice(0, whole.length - 1000)], 'short.ply'));
  expect(session.scan.value).toBeUndefined();
  await session.readAgain({ keepWhole: true });
  expect(session.scan.value!.triangles).toBeLessThan(scan.triangles!.length / 3);
  await session.readAgain({ keepWhole: true, units: 'cm' });
  expect(session.scan.value!.source.unit).toBe('cm');
});

test('reading is called off', async () => {
  const session = newSession();
  const opening = session.openFile(blockFile());
  await Promise.resolve();
  await new Promise((resolve) => setTimeout(resolve, 0));
  session.cancelOpening();
  await opening;
  expect(session.scan.value).toBeUndefined();
  expect(session.opening.value).toBeUndefined();
  expect(notices(session)).toEqual([]);
});

test('ids that are free', async () => {
  const session = await openedBlock();
  await session.append([skin('region-1', [70, 40, 0], 12), plane('plane-1', 'region-1')]);
  expect(session.freeId('plane')).toBe('plane-2');
  expect(session.freeId('plane', ['plane-2'])).toBe('plane-3');
  expect(session.freeId('bore')).toBe('bore-1');
});

test('a plan is not run on the scan that another page kept in its place', async () => {
  const { keep, kept } = memoryKeep();
  const session = await openedBlock(keep);
  await session.append(top);
  await expect.poll(() => kept.history?.plans.at(-1)?.steps.length).toBe(2);
  // The other page's scan, a little larger, comes into the store of both.
  const other = memoryKeep();
  const larger = { ...scan, positions: scan.positions.map((v) => 1.01 * v) };
  const second = newSession(other.keep);
  await second.restored;
  await second.openFile(new File([bytesOf(writePly(larger))], 'block.ply'));
  kept.scan = other.kept.scan;
  const next = newSession(keep);
  await next.restored;
  expect(next.scan.value).toBe(undefined);
  expect(ids(next)).toEqual(['top-skin', 'top']);
  expect(notices(next).join()).toMatch(
    /"block" is still here\. Open its scan to go on\. The scan kept here is another one/,
  );
  await next.openFile(new File([bytesOf(writePly(larger))], 'larger.ply'));
  expect(notices(next).join()).toMatch(
    /The plan "block" was last run on another scan than larger\.ply\. It now runs on this one\./,
  );
  const third = newSession(keep);
  await third.restored;
  expect(rows(third)).toEqual(['top']);
  expect(notices(third).join()).not.toMatch(/another scan/);
});

test('once another page has the job, what was done before is kept and nothing after; what is only looked at is not kept', async () => {
  const { keep, kept } = memoryKeep();
  const session = await openedBlock(keep);
  await session.append(top);
  await session.lookOnly();
  expect(kept.history?.plans.at(-1)?.steps.length).toBe(2);
  expect(session.isScanKept.value).toBe(false);
  const before = { ...kept, history: structuredClone(kept.history) };
  const looking = newSession(keep);
  void looking.lookOnly();
  await looking.restored;
  expect(rows(looking)).toEqual(['top']);
  expect(looking.isScanKept.value).toBe(false);
  for (const one of [session, looking]) {
    await one.append(front);
    expect(ids(one)).toHaveLength(4);
    await one.openFile(new File([bytesOf(writeStl(scan))], 'other.stl'));
    await one.forgetScan();
    one.closeScan();
    await settled(one);
  }
  expect(kept.history).toEqual(before.history);
  expect(kept.scan).toBe(before.scan);
});

test('the copy of the scan is forgotten when asked for; scan and plan stay open, and the plan is kept', async () => {
  const { keep, kept } = memoryKeep();
  const session = await openedBlock(keep);
  await session.append(top);
  expect(session.isScanKept.value).toBe(true);
  await session.forgetScan();
  expect([kept.scan, session.isScanKept.value, rows(session)]).toEqual([undefined, false, ['top']]);
  const next = newSession(keep);
  await next.restored;
  expect(notices(next).join()).toMatch(/"block" is still here/);
  expect(ids(next)).toEqual(['top-skin', 'top']);
});

test('a scan whose copy was taken out is not kept again when it is read in another unit; one that cannot be taken out is said to be there', async () => {
  const { keep, kept } = memoryKeep();
  const session = newSession(keep);
  await session.restored;
  await session.openFile(new File([bytesOf(writeStl(scan))], 'block.stl'));
  await session.forgetScan();
  await session.readAgain({ units: 'inch' });
  expect([kept.scan, session.isScanKept.value]).toEqual([undefined, false]);
  await session.openFile(blockFile());
  expect(session.isScanKept.value).toBe(true);

  const stuck = {
    ...keep,
    saveScan: (from?: ScanOrigin) => (from ? keep.saveScan(from) : Promise.reject(new Error('no'))),
  };
  const other = await openedBlock(stuck);
  await other.forgetScan();
  expect(other.isScanKept.value).toBe(true);
  expect(notices(other)).toEqual([expect.stringMatching(/The copy of the scan is still there/)]);
});

test('a scan opened before it is known what was kept is the one that is measured, with the plan that was kept', async () => {
  const { keep, kept } = memoryKeep();
  const first = await openedBlock(keep);
  await first.append(top);
  await expect.poll(() => kept.history?.plans.at(-1)?.steps.length).toBe(2);
  let answer = (): void => {};
  const asked = new Promise<void>((resolve) => {
    answer = resolve;
  });
  const slow: Keep = {
    ...keep,
    loadScan: () => asked.then(keep.loadScan),
    loadHistory: () => asked.then(keep.loadHistory),
  };
  const session = newSession(slow);
  const opened = session.openFile(new File([bytesOf(writePly(scan))], 'second.ply'));
  answer();
  await Promise.all([opened, session.restored]);
  expect(session.scan.value?.name).toBe('second.ply');
  expect(rows(session)).toEqual(['top']);
  await expect.poll(() => (kept.scan as { readonly file: File } | undefined)?.file.name).toBe('second.ply');
});
