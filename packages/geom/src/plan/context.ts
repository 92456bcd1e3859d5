import type { Feature } from '../feature/feature.js';
import { type Frame, scanFrame } from '../frame/frame.js';
import type { Scan } from '../scan/scan.js';
import type { Section } from '../section/section.js';
import type { Scanner } from './plan.js';
import type { StepOutcome } from './results.js';

/** What a step finds when its turn comes. The plan was checked: every id it asks for is there and of the right kind. */
export class Context {
  readonly scan: Scan;
  readonly scanner: Scanner | undefined;
  readonly #outcomes = new Map<string, StepOutcome>();

  constructor(scan: Scan, scanner: Scanner | undefined) {
    this.scan = scan;
    this.scanner = scanner;
  }

  add(outcome: StepOutcome): void {
    this.#outcomes.set(outcome.id, outcome);
  }

  outcome(id: string): StepOutcome {
    const outcome = this.#outcomes.get(id);
    if (outcome === undefined) throw new TypeError(`No step before this one is called "${id}": was the plan checked?`);
    return outcome;
  }

  feature(id: string): Feature {
    const outcome = this.outcome(id);
    if (outcome.kind === 'fit') return outcome.fit.feature;
    if (outcome.kind === 'construct') return outcome.feature;
    throw new TypeError(`"${id}" is a ${outcome.kind}, not a feature: was the plan checked?`);
  }

  /** A frame by its id; the scan's own axes without one. */
  frame(id: string | undefined): Frame {
    if (id === undefined) return scanFrame;
    const outcome = this.outcome(id);
    if (outcome.kind === 'frame') return outcome.frame;
    throw new TypeError(`"${id}" is a ${outcome.kind}, not a frame: was the plan checked?`);
  }

  /** The points of a region; undefined for the word `all`. */
  region(id: string): Uint32Array | undefined {
    if (id === 'all') return undefined;
    const outcome = this.outcome(id);
    if (outcome.kind === 'region') return outcome.select;
    throw new TypeError(`"${id}" is a ${outcome.kind}, not a region: was the plan checked?`);
  }

  /** A section by its id; undefined if the id is of something else. */
  section(id: string): Section | undefined {
    const outcome = id === 'all' ? undefined : this.outcome(id);
    return outcome?.kind === 'section' ? outcome.section : undefined;
  }
}
