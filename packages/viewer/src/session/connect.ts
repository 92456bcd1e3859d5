import { proxy, type Remote, wrap } from 'comlink';
import type { Measurer } from '../worker/protocol.js';

/** The page's measurer, in a worker of its own, which is started when first asked. */
export function connectMeasurer(): Measurer {
  let connected: Remote<Measurer> | undefined;
  const remote = (): Remote<Measurer> => {
    connected ??= wrap<Measurer>(startWorker());
    return connected;
  };
  return {
    open: (file, options, onProgress) => remote().open(file, options, proxy(onProgress)),
    openPump: (onProgress) => remote().openPump(proxy(onProgress)),
    cancelOpening: () => remote().cancelOpening(),
    run: (plan) => remote().run(plan),
    points: (id) => remote().points(id),
    pick: (ray) => remote().pick(ray),
    glimpse: (ray, grow, within) => remote().glimpse(ray, grow, within),
    choose: (steps, sight) => remote().choose(steps, sight),
    suggest: (steps) => remote().suggest(steps),
    tryStep: (plan, steps) => remote().tryStep(plan, steps),
    profile: (plan, section, tolerance) => remote().profile(plan, section, tolerance),
    relations: (plan, ids) => remote().relations(plan, ids),
    deliver: (plan, what, onProgress) => remote().deliver(plan, what, proxy(onProgress)),
  };
}

const startWorker = (): Worker =>
  new Worker(new URL('../worker/worker.ts', import.meta.url), { type: 'module', name: 'measurer' });
