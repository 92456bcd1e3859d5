import { FettleError, type Profile, type ProfileOptions, type Section } from '@fettle/geom';
import type { ProfileFinder } from './profile-finder.js';

/** What a finder fails with that says nothing of the outline: it was stopped, or broke. */
const MOOT: readonly string[] = ['aborted', 'unexpected'];

/** So many are kept. */
const MOST = 100;

type Question = readonly [section: Section, index?: number, options?: ProfileOptions];
type Answer = { readonly profile: Profile } | { readonly error: unknown };

interface Known {
  /** All a profile rests on but the outline's points, as JSON; and those. */
  readonly asked: string;
  readonly flat: Float64Array;
  readonly answer: Answer;
}

/** Profiles that were found: each takes long, and the same one is drawn, put on the job sheet, and run again with its plan. */
export class KnownProfiles {
  #known: Known[] = [];

  /** @throws FettleError as `profileOf` did */
  get(...question: Question): Profile | undefined {
    const [asked, flat] = [inWords(question), outlineOf(question)];
    const found = this.#known.find((known) => known.asked === asked && isSame(known.flat, flat));
    if (found === undefined) return undefined;
    if ('error' in found.answer) throw found.answer.error;
    return found.answer.profile;
  }

  /** @throws FettleError as `profileOf` does; `aborted` when the finder was stopped */
  async find(finder: ProfileFinder, ...question: Question): Promise<Profile> {
    const before = this.get(...question);
    if (before) return before;
    try {
      const [section, index = 0, options = {}] = question;
      const profile = await finder.find(section, index, options);
      this.#keep(question, { profile });
      return profile;
    } catch (error) {
      if (error instanceof FettleError && !MOOT.includes(error.code)) this.#keep(question, { error });
      throw error;
    }
  }

  #keep(question: Question, answer: Answer): void {
    const known = { asked: inWords(question), flat: outlineOf(question), answer };
    this.#known = [...this.#known, known].slice(-MOST);
  }
}

const outlineOf = ([{ polylines }, index = 0]: Question): Float64Array => polylines[index]!.flat;

function inWords([{ origin, x, y, polylines }, index = 0, options = {}]: Question): string {
  return JSON.stringify([origin, x, y, polylines[index]!.closed, options]);
}

const isSame = (a: Float64Array, b: Float64Array): boolean => a.length === b.length && a.every((v, i) => v === b[i]);
