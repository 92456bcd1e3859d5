/** Units of length a scan file may be in. */
export const lengthUnits = ['mm', 'cm', 'm', 'inch'] as const;
export type LengthUnit = (typeof lengthUnits)[number];

/** Millimetres in one of each unit. The inch is exactly 25.4 mm (ISO 80000-3). */
export const millimetersIn: Readonly<Record<LengthUnit, number>> = { mm: 1, cm: 10, m: 1000, inch: 25.4 };
