import '../made-code.js';
import { expose, transfer } from 'comlink';
import { createMeasurer } from './measurer.js';
import { finderInThread } from './profile-finder.js';
import type { DeliveredFile, Measurer } from './protocol.js';

const profileThread = (): Worker =>
  new Worker(new URL('./profile-thread.ts', import.meta.url), { type: 'module', name: 'profile' });
// Some browsers have no threads within threads.
const finder = () => (typeof Worker === 'undefined' ? undefined : finderInThread(profileThread));
const measurer = createMeasurer(self.location.href, finder(), finder());

/** What is made for the page alone is handed over instead of copied. */
const handedOver = <T extends object>(value: T): T => transfer(value, buffersIn(value));

function buffersIn(value: unknown): ArrayBuffer[] {
  if (ArrayBuffer.isView(value)) return value.buffer instanceof ArrayBuffer ? [value.buffer] : [];
  if (typeof value !== 'object' || value === null) return [];
  return Object.values(value).flatMap(buffersIn);
}

const exposed: Measurer = {
  ...measurer,
  open: async (...given) => handedOver(await measurer.open(...given)),
  openPump: async (...given) => handedOver(await measurer.openPump(...given)),
  points: async (...given) => handedOver(await measurer.points(...given)),
  glimpse: async (...given) => {
    const found = await measurer.glimpse(...given);
    return found && handedOver(found);
  },
  choose: async (...given) => handedOver(await measurer.choose(...given)),
  profile: async (...given) => handedOver(await measurer.profile(...given)),
  deliver: async (...given) => handedOver((await measurer.deliver(...given)) as DeliveredFile[]),
};

expose(exposed);
