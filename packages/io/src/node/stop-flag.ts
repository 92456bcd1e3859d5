/** A way to stop work in other threads, which see it even while no message can reach them. */

/** The flag, not raised. */
export const stopFlag = (): SharedArrayBuffer => new SharedArrayBuffer(4);

export const raise = (flag: SharedArrayBuffer): void => {
  Atomics.store(new Int32Array(flag), 0, 1);
};

export const raised = (flag: SharedArrayBuffer): boolean => Atomics.load(new Int32Array(flag), 0) === 1;
