/**
 * A positive number to a power. JavaScript engines round `**` differently in the last digit, some from one version to the next, while
 * exp and log are the same in all that were compared (V8 11.3 and 15.0): what a page measures, a command must find again.
 */
export const power = (base: number, exponent: number): number => Math.exp(exponent * Math.log(base));
