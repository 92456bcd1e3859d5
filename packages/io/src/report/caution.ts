/** What every report of the tool says: the numbers guide design. */
export const CAUTION =
  'These numbers guide design; they are not inspection. Check by hand every size that must fit before you cut. ' +
  "Isolate a machine from power before mounting anything on it and keep its guards working. The machine maker's " +
  'instructions, local rules and qualified people come first.';
