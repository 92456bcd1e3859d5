/** What the tables of the standards are asked about a size. */
export interface TableQuestions {
  readonly screw?: boolean;
  readonly fit?: string;
  readonly nominal?: number;
}

/** The fields a step gets for its questions: a nominal size is for a class alone. */
export const askedFields = ({ screw, fit, nominal }: TableQuestions): TableQuestions => {
  const named = fit?.trim() || undefined;
  return {
    ...(screw && { screw }),
    ...(named !== undefined && { fit: named }),
    ...(named !== undefined && nominal !== undefined && { nominal }),
  };
};
