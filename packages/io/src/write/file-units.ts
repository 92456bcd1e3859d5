import { FettleError, type LengthUnit, millimetersIn } from '@fettle/geom';

export interface FileUnits {
  /** Unit of the coordinates in the file. Default: mm, which keeps every digit; others are divided into. */
  readonly units?: LengthUnit;
}

/**
 * What coordinates in mm are divided by to be in the unit of the file: 1 of mm, so that those stay as they are.
 * Errors: `bad-units`.
 */
export function divisorOf({ name = 'scan' }: { readonly name?: string }, { units = 'mm' }: FileUnits): number {
  if (Object.hasOwn(millimetersIn, units)) return millimetersIn[units];
  throw new FettleError(
    'bad-units',
    `${name}: not written: unknown unit '${units}'; known are ${Object.keys(millimetersIn).join(', ')}.`,
  );
}
