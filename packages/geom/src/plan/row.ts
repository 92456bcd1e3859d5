import type { SheetRow } from './results.js';

/** What a row of the job sheet holds beside what all rows do. */
export type Row = Omit<SheetRow, 'balloon' | 'id' | 'step' | 'note' | 'frame'>;
