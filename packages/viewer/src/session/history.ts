import type { Plan } from '@fettle/geom';
import { computed, type ReadonlySignal, signal } from '@preact/signals';

/** So many plans are kept to go back to. */
const LONGEST = 300;

/** The plans there were, and which of them is in place. */
export interface HistoryState {
  readonly plans: readonly Plan[];
  readonly at: number;
}

export const emptyPlan: Plan = { version: 1, title: 'Untitled', steps: [] };

/** Walks the plans that acts have made. */
export class History {
  readonly #state = signal<HistoryState>({ plans: [emptyPlan], at: 0 });
  readonly state: ReadonlySignal<HistoryState> = this.#state;
  readonly plan: ReadonlySignal<Plan> = computed(() => this.#state.value.plans[this.#state.value.at]!);
  readonly canUndo: ReadonlySignal<boolean> = computed(() => this.#state.value.at > 0);
  readonly canRedo: ReadonlySignal<boolean> = computed(() => this.#state.value.at + 1 < this.#state.value.plans.length);

  /** Puts a plan behind the one in place; what had been undone is forgotten. */
  add(plan: Plan): void {
    const { plans, at } = this.#state.value;
    const kept = [...plans.slice(0, at + 1), plan].slice(-LONGEST);
    this.#state.value = { plans: kept, at: kept.length - 1 };
  }

  /** Goes to the plan before or after; false where there is none. */
  go(by: -1 | 1): boolean {
    const { plans, at } = this.#state.value;
    if (plans[at + by] === undefined) return false;
    this.#state.value = { plans, at: at + by };
    return true;
  }

  reset(state: HistoryState = { plans: [emptyPlan], at: 0 }): void {
    this.#state.value = state;
  }
}
