import { type Results, resultsToJson } from '@fettle/geom';

/** Results as the text of a JSON document, every digit kept. */
export const resultsJson = (results: Results): string => `${JSON.stringify(resultsToJson(results), undefined, 2)}\n`;
