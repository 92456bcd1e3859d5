import { FettleError, type Profile, type ProfileOptions, profileOf, type Section } from '@fettle/geom';
import type { Refusal } from './protocol.js';

/**
 * Finds the lines and arcs of outlines, one at a time. A long outline takes seconds: in a thread of its own it keeps nothing waiting that
 * follows a pointer.
 */
export interface ProfileFinder {
  /** @throws FettleError as `profileOf` does; `aborted` when it was stopped */
  find(section: Section, index: number, options: ProfileOptions): Promise<Profile>;
  /** Gives up what is being found. */
  stop(): void;
}

/** Where there are no other threads. */
export const finderInPlace = (): ProfileFinder => ({
  find: async (...given) => profileOf(...given),
  stop() {},
});

/** What its thread is asked, and what it answers. */
export type ProfileQuestion = Parameters<ProfileFinder['find']>;
export type ProfileAnswer = { readonly found: Profile } | { readonly refusal: Refusal };

/** With a thread of its own, started by `start` when first asked and ended when it is stopped at work. */
export function finderInThread(start: () => Worker): ProfileFinder {
  let thread: Worker | undefined;
  let giveUp: ((why: FettleError) => void) | undefined;
  const end = (why: FettleError): void => {
    if (!giveUp) return;
    thread?.terminate();
    thread = undefined;
    giveUp(why);
    giveUp = undefined;
  };
  return {
    find(section, index, options) {
      end(new FettleError('aborted', 'Another outline was asked for.'));
      thread ??= start();
      const asked = thread;
      return new Promise((resolve, reject) => {
        giveUp = reject;
        asked.onmessage = ({ data }: MessageEvent<ProfileAnswer>) => {
          giveUp = undefined;
          if ('found' in data) resolve(data.found);
          else reject(new FettleError(data.refusal.code, data.refusal.message));
        };
        asked.onerror = () =>
          end(new FettleError('unexpected', 'The lines and arcs of the section could not be found.'));
        asked.postMessage([only(section, index), index, options] satisfies ProfileQuestion);
      });
    },
    stop: () => end(new FettleError('aborted', 'Stopped.')),
  };
}

/** A section without the points of its other outlines: what is handed over is copied. */
function only({ points: _, polylines, ...section }: Section, index: number): Section {
  const none = { closed: false, points: new Float64Array(), flat: new Float64Array() };
  return { ...section, polylines: polylines.map((line, i) => (i === index ? line : { ...line, ...none })) };
}
