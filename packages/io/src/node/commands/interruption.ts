import { FettleError } from '@fettle/geom';
import { EXIT } from './exit-code.js';

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/**
 * A signal that Ctrl-C aborts, or the end asked of a process (SIGTERM), or that of its terminal (SIGHUP), so that files half written
 * are given up. A second Ctrl-C ends at once.
 */
export function interruption(): { readonly signal: AbortSignal; end(): void } {
  const controller = new AbortController();
  const stop = (): void => {
    if (controller.signal.aborted) process.exit(EXIT.interrupted);
    controller.abort(
      new FettleError('interrupted', 'Stopped. Files of earlier runs are as they were, or new and whole.'),
    );
  };
  for (const signal of SIGNALS) process.on(signal, stop);
  return {
    signal: controller.signal,
    end: () => {
      for (const signal of SIGNALS) process.off(signal, stop);
    },
  };
}
