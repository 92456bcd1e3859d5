import { proxy, type Remote, wrap } from 'comlink';
import type { Measurer, Refusal } from '../worker/protocol.js';

interface Connected {
  readonly remote: Remote<Measurer>;
  /** Never resolved; rejected where the worker cannot be started, or breaks. */
  readonly broken: Promise<never>;
}

/** The page's measurer, in a worker of its own, which is started when first asked. */
export function connectMeasurer(): Measurer {
  let connected: Connected | undefined;
  const ask = async <T>(question: (remote: Remote<Measurer>) => Promise<T>): Promise<T> => {
    connected ??= connect();
    return await Promise.race([question(connected.remote), connected.broken]);
  };
  return {
    open: (file, options, onProgress) => ask((remote) => remote.open(file, options, proxy(onProgress))),
    openPump: (onProgress) => ask((remote) => remote.openPump(proxy(onProgress))),
    cancelOpening: () => ask((remote) => remote.cancelOpening()),
    run: (plan) => ask((remote) => remote.run(plan)),
    points: (id) => ask((remote) => remote.points(id)),
    pick: (ray) => ask((remote) => remote.pick(ray)),
    glimpse: (ray, grow, within) => ask((remote) => remote.glimpse(ray, grow, within)),
    choose: (steps) => ask((remote) => remote.choose(steps)),
    suggest: (steps) => ask((remote) => remote.suggest(steps)),
    tryStep: (plan, steps, by) => ask((remote) => remote.tryStep(plan, steps, by)),
    profile: (plan, section, tolerance) => ask((remote) => remote.profile(plan, section, tolerance)),
    relations: (plan, ids) => ask((remote) => remote.relations(plan, ids)),
    deliver: (plan, what, onProgress) => ask((remote) => remote.deliver(plan, what, proxy(onProgress))),
  };
}

const refusal: Refusal = {
  code: 'measurer-broken',
  message: 'The part of the page that measures does not run. Load the page again: plan and scan are kept.',
};

function connect(): Connected {
  const worker = new Worker(new URL('../worker/worker.ts', import.meta.url), { type: 'module', name: 'measurer' });
  const broken = new Promise<never>((_, reject) => {
    worker.addEventListener('error', () => reject(refusal));
  });
  broken.catch(() => undefined);
  return { remote: wrap<Measurer>(worker), broken };
}
