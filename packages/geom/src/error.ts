/**
 * An error a person can act on: what was wrong, where, and what to do.
 * `code` is stable (kebab-case) and meant for programs; `message` is meant for people and may be reworded.
 */
export class FettleError extends Error {
  override readonly name = 'FettleError';
  readonly code: string;

  constructor(code: string, message: string, options?: { cause?: unknown }) {
    super(message, options);
    this.code = code;
  }
}

/** Something a person should know about a result that stands all the same. Named like an error, never thrown. */
export interface Warning {
  readonly code: string;
  readonly message: string;
}
