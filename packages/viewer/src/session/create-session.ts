import { LONGEST_TITLE, type Plan } from '@fettle/geom';
import { signal } from '@preact/signals';
import type { Measurer, OpenedScan, OpenOptions, RunView } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import { fingerprintOf, isOfAnother } from './fingerprint.js';
import { freeId } from './free-id.js';
import { emptyPlan, History } from './history.js';
import type { Keep, ScanOrigin } from './keep.js';
import { Keeping } from './keeping.js';
import { isPlanFile } from './plan-file.js';
import type { Cutting, Draft, Hand, Notice, Opening, Session } from './session.js';

export interface SessionOptions {
  readonly measurer: Measurer;
  /** Absent: nothing is kept. */
  readonly keep?: Keep;
}

/** What a plan made on a scan is called at first: the file's name without what its format adds. */
const titleOf = (name: string): string =>
  (name.replace(/\.(ply|obj|stl|off|pcd|xyz|csv|txt|3mf|glb|gz)$/i, '') || name).slice(0, LONGEST_TITLE);

type Editing = typeof import('./plan-edits.js');

const emptyRun: RunView = { steps: [], passed: true, warnings: [] };

/** A session; what was kept of the last one is brought back, see {@link Session.restored}. */
export function createSession({ measurer, keep }: SessionOptions): Session {
  const history = new History();
  const scan = signal<OpenedScan>();
  const isScanKept = signal(false);
  const opening = signal<Opening>();
  const run = signal<RunView>(emptyRun);
  const isRunning = signal(false);
  const notices = signal<readonly Notice[]>([]);
  const selected = signal<readonly string[]>([]);
  const hand = signal<Hand>('turn');
  const draft = signal<Draft>();
  const section = signal<string>();
  const triedFrame = signal<Float64Array>();
  const cutting = signal<Cutting>();
  const grow = signal({ turn: 3, spread: 10 });

  let edits: Editing | undefined;
  // Editing knows every kind of step, and with them most of geometry: it is loaded once there is something to edit.
  const editing = async (): Promise<Editing> => {
    edits ??= await import('./plan-edits.js');
    return edits;
  };

  /** Of the scan that is open. */
  let fingerprint: string | undefined;
  /** What is open, or was tried last. */
  let origin: ScanOrigin | undefined;
  /** Unless the user had its copy taken out. */
  let isToBeKept = true;
  /** Counts openings, so that a late one of an earlier scan is told apart. */
  let openings = 0;
  /** Settled once the scan on its way is there, or is not to come. */
  let arrival: Promise<unknown> = Promise.resolve();
  let work: Promise<unknown> = Promise.resolve();

  const say = (notice: Notice): void => {
    if (notices.value.some(({ message }) => message === notice.message)) return;
    notices.value = [...notices.value, notice];
  };
  const refuse = (error: unknown): false => {
    const { code, message } = refusalOf(error);
    if (code !== 'aborted') say({ tone: 'refusal', code, message });
    return false;
  };

  const keeping = keep && new Keeping(keep, history, () => fingerprint, say);

  async function keepScan(from: ScanOrigin): Promise<void> {
    const isKept = await keeping?.saveScan(from);
    isScanKept.value = isKept === true && from !== 'pump';
  }

  /** @returns whether no copy is kept any more */
  async function forgetKept(left: 'all' | 'own'): Promise<boolean> {
    if (await keeping?.forgetScan(left)) isScanKept.value = false;
    return !isScanKept.value;
  }

  /** Acts come one after the other: each begins with the plan the last one left. */
  function inTurn<T>(act: () => Promise<T>): Promise<T> {
    const turn = work.then(act, act);
    work = turn.catch(() => undefined);
    return turn;
  }

  /** Runs a plan; where a step of it must not fail and does, the plan in place is run again and the step's refusal thrown. */
  async function tryRun(plan: Plan, mustRun: readonly string[]): Promise<RunView> {
    isRunning.value = true;
    try {
      const view = await measurer.run(plan);
      const failed = view.steps.find(({ id, refusal }) => refusal !== undefined && mustRun.includes(id));
      if (failed?.refusal) throw failed.refusal;
      return view;
    } catch (error) {
      await measurer.run(history.plan.value).catch(() => undefined);
      throw error;
    } finally {
      isRunning.value = false;
    }
  }

  /** Puts a plan in place once it runs. */
  async function commit(plan: Plan, mustRun: readonly string[] = []): Promise<boolean> {
    try {
      const view = scan.value === undefined ? emptyRun : await tryRun(plan, mustRun);
      history.add(plan);
      show(view);
      return true;
    } catch (error) {
      return refuse(error);
    }
  }

  function show(view: RunView): void {
    run.value = view;
    const isThere = (id: string) => history.plan.value.steps.some((step) => step.id === id);
    if (!selected.value.every(isThere)) selected.value = selected.value.filter(isThere);
    if (section.value !== undefined && !isThere(section.value)) section.value = undefined;
  }

  /** Runs the plan in place again. */
  async function rerun(): Promise<void> {
    if (scan.value === undefined) return show(emptyRun);
    isRunning.value = true;
    try {
      show(await measurer.run(history.plan.value));
    } catch (error) {
      refuse(error);
    } finally {
      isRunning.value = false;
    }
  }

  /** Opens a scan; what was open stays so until the new one is there. */
  async function open(from: ScanOrigin, name: string, read: (number: number) => Promise<OpenedScan>): Promise<boolean> {
    const opened = take(from, name, read);
    arrival = opened;
    return await opened;
  }

  async function take(from: ScanOrigin, name: string, read: (number: number) => Promise<OpenedScan>): Promise<boolean> {
    const number = ++openings;
    origin = from;
    try {
      const [found] = await Promise.all([read(number), editing()]);
      if (number !== openings) return false;
      await inTurn(async () => {
        const before = scan.value;
        scan.value = found;
        const last = fingerprint;
        fingerprint = fingerprintOf(from, found);
        if (from !== 'pump') origin = { ...from, fingerprint };
        draft.value = undefined;
        cutting.value = undefined;
        triedFrame.value = undefined;
        section.value = undefined;
        hand.value = 'turn';
        if (before !== undefined && history.plan.value.steps.length > 0) {
          history.add({ ...emptyPlan, title: titleOf(found.name) });
          say({ tone: 'word', message: `The plan made on ${before.name} was put aside. Undo puts it on ${name}.` });
        } else if (history.plan.value === emptyPlan) {
          history.reset({ plans: [{ ...emptyPlan, title: titleOf(found.name) }], at: 0 });
        } else if (last !== undefined && last !== fingerprint && history.plan.value.steps.length > 0) {
          const { title } = history.plan.value;
          const message = `The plan "${title}" was last run on another scan than ${name}. It now runs on this one.`;
          say({ tone: 'word', code: 'scan-of-another-plan', message });
        }
        await rerun();
      });
      sayIncomplete(name);
      return true;
    } catch (error) {
      if (number === openings) refuse(error);
      return false;
    } finally {
      if (number === openings) opening.value = undefined;
    }
  }

  /** Which steps of a plan that came from elsewhere give nothing on this scan, and why. */
  function sayIncomplete(name: string): void {
    const failed = run.value.steps.filter(({ refusal }) => refusal !== undefined);
    if (failed.length === 0) return;
    const own = failed.filter(({ refusal }) => refusal?.code !== 'step-waits');
    const waiting = failed.length - own.length;
    const [all, some] = [run.value.steps.length, own.map(({ refusal }) => `  ${refusal!.message}`)];
    const waits = waiting === 0 ? '' : `\n${waiting} more wait for ${own.length === 1 ? 'it' : 'them'}.`;
    const message = `${failed.length} of ${all} steps give nothing on ${name}; was the plan made for another scan?\n${some.join('\n')}${waits}`;
    say({ tone: 'refusal', code: 'plan-fails', message });
  }

  async function openScanFile(file: Blob, options: OpenOptions): Promise<boolean> {
    opening.value = { name: options.name, bytes: 0, total: file.size };
    return await open({ file, options }, options.name, (number) =>
      measurer.open(file, options, (bytes, total) => {
        if (number === openings) opening.value = { name: options.name, bytes, ...(total !== undefined && { total }) };
      }),
    );
  }

  async function openPumpScan(): Promise<boolean> {
    opening.value = { name: 'the demo pump', share: 0 };
    return await open('pump', 'the demo pump', (number) =>
      measurer.openPump((share) => {
        if (number === openings) opening.value = { name: 'the demo pump', share };
      }),
    );
  }

  /** Opens a plan, on the scan that is on its way if there is one: put on the scan of before it would go aside with that. */
  async function openPlanFile(file: File): Promise<void> {
    try {
      const { planFromBytes } = await editing();
      const plan = planFromBytes(new Uint8Array(await file.arrayBuffer()), file.name);
      await arrival;
      await session.usePlan(plan);
    } catch (error) {
      refuse(error);
    }
  }

  /** What was kept of the last session. */
  const lastKept = keep && Promise.all([keep.loadHistory().catch(refuse), keep.loadScan().catch(refuse)]);
  /** Once it is known: what is opened before that would be put aside for it. */
  const isKnown: Promise<unknown> = Promise.resolve(lastKept);

  /** Brings back what was kept: the plan first, then the scan, on which it is run. */
  async function restore(): Promise<void> {
    if (lastKept === undefined) return;
    try {
      const [kept, from] = await lastKept;
      if (kept) {
        history.reset({ plans: kept.plans, at: kept.at });
        fingerprint = kept.scan;
      }
      const { title, steps } = history.plan.value;
      const waits = `The plan "${title}" is still here. Open its scan to go on.`;
      if (kept && from && isOfAnother(kept, from) && steps.length > 0) {
        say({
          tone: 'word',
          code: 'scan-of-another-plan',
          message: `${waits} The scan kept here is another one, and stays closed.`,
        });
      } else if (from === 'pump') await openPumpScan();
      else if (from) isScanKept.value = (await openScanFile(from.file, from.options)) && keeping?.isStopped === false;
      else if (steps.length > 0) say({ tone: 'word', message: waits });
    } catch (error) {
      refuse(error);
    } finally {
      keeping?.begin();
    }
  }

  const session: Session = {
    measurer,
    scan,
    isScanKept,
    opening,
    plan: history.plan,
    run,
    isRunning,
    canUndo: history.canUndo,
    canRedo: history.canRedo,
    notices,
    selected,
    hand,
    draft,
    section,
    triedFrame,
    cutting,
    grow,
    restored: restore(),

    async openFile(file, options = {}) {
      const [isPlan] = await Promise.all([isPlanFile(file), isKnown]);
      if (isPlan) return await openPlanFile(file);
      if (!(await openScanFile(file, { name: file.name, ...options })) || origin === undefined) return;
      isToBeKept = true;
      await keepScan(origin);
    },
    async openPump() {
      await isKnown;
      if (await openPumpScan()) await keepScan('pump');
    },
    async readAgain(options) {
      if (origin === undefined || origin === 'pump') return;
      const { file, options: before } = origin;
      if ((await openScanFile(file, { ...before, ...options })) && isToBeKept) await keepScan(origin);
    },
    cancelOpening() {
      openings++;
      opening.value = undefined;
      measurer.cancelOpening().catch(() => undefined);
    },
    closeScan() {
      openings++;
      scan.value = undefined;
      origin = undefined;
      fingerprint = undefined;
      draft.value = undefined;
      history.reset();
      show(emptyRun);
      void forgetKept('own');
    },
    async forgetScan() {
      isToBeKept = false;
      if (!(await forgetKept('all')) || scan.value === undefined) return;
      say({
        tone: 'word',
        message: `${scan.value.name} is no longer kept in this browser. It stays open here; after a reload, open its file again and the plan goes on.`,
      });
    },

    async lookOnly() {
      await keeping?.stop();
      isScanKept.value = false;
    },

    append: (steps) =>
      inTurn(async () => {
        const { appended } = await editing();
        const ids = steps.map(({ id }) => id);
        return await commit(appended(history.plan.value, steps), ids);
      }),
    edit: (id, change) =>
      inTurn(async () => {
        const { edited } = await editing();
        const now = history.plan.value.steps.find((one) => one.id === id);
        if (now === undefined) return false;
        const step = typeof change === 'function' ? change(now) : change;
        const isShown = section.value === id;
        const chosen = selected.value.map((one) => (one === id ? step.id : one));
        if (!(await commit(edited(history.plan.value, id, step), [step.id]))) return false;
        if (chosen.includes(step.id)) selected.value = chosen;
        if (isShown) section.value = step.id;
        return true;
      }),
    remove: (ids) =>
      inTurn(async () => {
        const { removed } = await editing();
        return await commit(removed(history.plan.value, ids));
      }),
    restingOn: (id) => edits?.restingOn(history.plan.value, [id]) ?? [],
    move: (id, by) =>
      inTurn(async () => {
        const { moved } = await editing();
        const plan = moved(history.plan.value, id, by);
        return plan !== history.plan.value && (await commit(plan));
      }),
    async usePlan(plan) {
      const isPut = await inTurn(() => commit(plan));
      if (isPut && scan.value) sayIncomplete(scan.value.name);
      return isPut;
    },
    setTitle(title) {
      void inTurn(() => commit({ ...history.plan.value, title: title.trim() || emptyPlan.title }));
    },
    undo: () => void inTurn(async () => history.go(-1) && (await rerun())),
    redo: () => void inTurn(async () => history.go(1) && (await rerun())),
    freeId: (word, besides) => freeId(history.plan.value, word, besides),

    say,
    dismiss(notice) {
      notices.value = notices.value.filter((other) => other !== notice);
    },
  };
  return session;
}
