import { z } from 'zod';
import { lengthUnits } from '../../scan/length-unit.js';
import { common, frameReference, positiveLength, reference, shortText } from './fields.js';

const simplifySchema = z
  .strictObject({
    triangles: z.int().positive().optional().describe('The number of triangles to come down to.'),
    deviation: positiveLength
      .optional()
      .describe('As few triangles as this leaves: how far the surface may be off anywhere, either way, measured, mm.'),
    protect: z
      .array(reference('a region'))
      .optional()
      .describe('Ids of earlier regions to keep at full density. Absent: all that fits were made to.'),
  })
  .refine((s) => (s.triangles === undefined) !== (s.deviation === undefined), {
    error: 'one of triangles and deviation',
  })
  .describe('Fewer triangles: the scan simplified for CAD, its deviation measured and told.');

const viewNames = [
  'front',
  'back',
  'left',
  'right',
  'top',
  'bottom',
  'front-left',
  'front-right',
  'back-left',
  'back-right',
] as const;
const finiteScale = z.number().positive();

/** What to write besides the job sheet. The plan only says what; whoever runs it writes the files. */
export const deliverSchemas = {
  scan: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      scan: z.strictObject({
        format: z.enum(['ply', 'obj', 'stl', '3mf']),
        in: frameReference.optional().describe('Id of an earlier frame to set the scan on. Absent: as scanned.'),
        units: z
          .enum(lengthUnits)
          .optional()
          .describe(
            'Unit of the file. 3MF says it to every program; PLY, OBJ and STL have no field for it: then the file says it in a ' +
              'comment, and in its name where it is not mm. Absent: mm.',
          ),
        simplify: simplifySchema.optional(),
      }),
    })
    .describe('The scan, set on a datum frame.'),
  cad: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      cad: z.strictObject({
        in: frameReference
          .optional()
          .describe('Id of an earlier frame the file is in. Absent: the last one of the plan.'),
        items: z
          .array(reference('a feature, section or frame'))
          .min(1)
          .optional()
          .describe('Ids of what to write. Absent: every feature, section and frame.'),
        sections: z
          .enum(['profiles', 'polylines'])
          .optional()
          .describe('Sections as chains of lines and arcs, or as every crossing of the mesh. Absent: profiles.'),
        parts: z
          .enum(['each', 'one'])
          .optional()
          .describe('Every item a part of its own, listed by name in any program, or all in one part. Absent: each.'),
        schema: z.enum(['ap214', 'ap242']).optional().describe('Application protocol of ISO 10303. Absent: ap214.'),
      }),
    })
    .describe('A STEP file (ISO 10303-21) of what was found: true faces, axes, circles, points and outlines, named.'),
  drawing: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      drawing: z.strictObject({
        of: reference('a section').optional().describe('Id of an earlier section. Absent: the features.'),
        view: z.enum(viewNames).optional().describe('From where the features are seen. Absent: top.'),
        scale: finiteScale.optional().describe('mm on paper a mm of the part. Absent: 1, true size.'),
        paper: z
          .enum(['A4', 'A4 landscape', 'A3', 'A2', 'A1', 'A0'])
          .optional()
          .describe('Absent: the smallest that holds the drawing.'),
      }),
    })
    .describe('A drawing true to scale as SVG: a section, or the features seen along an axis of the last frame.'),
  picture: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      picture: z.strictObject({
        view: z.enum(viewNames).optional().describe('From where it is taken. Absent: front-left, from above.'),
        width: z.int().min(64).max(4096).optional().describe('Pixels. Absent: 1200.'),
        height: z.int().min(64).max(4096).optional().describe('Pixels. Absent: five eighths of the width.'),
      }),
    })
    .describe('A picture of the scan as PNG, with balloons, in the last frame.'),
  report: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      report: z.strictObject({
        creator: shortText.optional().describe('Who made it; in the title block.'),
      }),
    })
    .describe(
      'Everything in one HTML file: pictures, job sheet, drawings, residual maps, warnings, where it comes from.',
    ),
};

export type DeliverStep = z.infer<(typeof deliverSchemas)[keyof typeof deliverSchemas]>;
export type DeliverScanStep = z.infer<typeof deliverSchemas.scan>;
export type DeliverCadStep = z.infer<typeof deliverSchemas.cad>;
export type DeliverDrawingStep = z.infer<typeof deliverSchemas.drawing>;
export type DeliverPictureStep = z.infer<typeof deliverSchemas.picture>;
export type DeliverReportStep = z.infer<typeof deliverSchemas.report>;
