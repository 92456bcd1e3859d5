/** A name as it is typed, made an id: small letters and digits, words joined by hyphens. */
export const idFrom = (typed: string): string =>
  typed
    .trim()
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '');
