/** Application protocols of ISO 10303 a file can follow: what its header and its protocol definition say. */
export const schemas = {
  ap214: {
    header: 'AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }',
    context: 'core data for automotive mechanical design processes',
    protocol: 'automotive_design',
    year: 2000,
  },
  ap242: {
    header: 'AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }',
    context: 'managed model based 3d engineering',
    protocol: 'ap242_managed_model_based_3d_engineering',
    year: 2014,
  },
} as const;

export type StepSchema = keyof typeof schemas;
