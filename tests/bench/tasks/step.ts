import { scanFrame, type Vec3, vec3 } from '@fettle/geom';
import { bytesOf, type StepItem, writeStep } from '@fettle/io';
import { parseStepFile } from '../../io/step-file.js';
import { everyKind } from '../../io/step-items.js';
import { kernel, seenByKernel } from '../../io/step-kernel.js';
import { offences } from '../../io/step-schema.js';
import { asRatio, inMs, milliseconds, type Row, type Task } from '../task.js';

const COUNT = 1000;

/** Every kind in turn, each with a name of its own. */
const items: readonly StepItem[] = Array.from({ length: COUNT }, (_, i): StepItem => {
  const kind = everyKind[i % everyKind.length]!;
  return { ...kind, name: `${kind.name}-${i}` };
});

/** Cylinders side by side, which the peer can write too. */
const places: readonly Vec3[] = Array.from({ length: COUNT }, (_, i) => vec3.scale(scanFrame.x, 10 * i));
const cylinders: readonly StepItem[] = places.map((point, i) => ({
  kind: 'cylinder',
  name: `bore-${i}`,
  point,
  direction: [0, 0, 1],
  radius: 4,
  span: [0, 20],
}));

export const task: Task = {
  title: 'STEP: features written',
  async run() {
    const rows: Row[] = [];
    for (const parts of ['each', 'one'] as const) {
      const write = () => bytesOf(writeStep(items, { parts }));
      const ms = await milliseconds(write);
      const right = offences(parseStepFile(write())).length === 0;
      rows.push({
        what: `1,000 features of every kind, ${parts === 'each' ? 'a part each' : 'in one part'}: ${(write().length / 1e6).toFixed(1)} MB`,
        ours: inMs(ms),
        bound: 'under 1,000 ms, and a valid file',
        held: ms < 1000 && right,
      });
    }
    const oc = await kernel();
    const ours = await milliseconds(() => bytesOf(writeStep(cylinders, { parts: 'one' })));
    const theirs = await milliseconds(() => writtenByKernel(oc), 3);
    const { valid, items: seen } = await seenByKernel(bytesOf(writeStep(cylinders, { parts: 'one' })));
    rows.push({
      what: '1,000 cylinders with their axes, in one part',
      ours: inMs(ours),
      peer: `Open CASCADE's own writer (WebAssembly) ${inMs(theirs)}`,
      ratio: asRatio(theirs / ours),
      bound: 'no slower; all valid to Open CASCADE',
      held: ours <= theirs && valid && seen.size === 2 * COUNT,
    });
    return rows;
  },
};

// biome-ignore lint/suspicious/noExplicitAny: the kernel's declarations are 9 MB.
function writtenByKernel(oc: any): void {
  const builder = new oc.BRep_Builder();
  const all = new oc.TopoDS_Compound();
  builder.MakeCompound(all);
  for (const [x, y, z] of places) {
    const axes = new oc.gp_Ax3_4(new oc.gp_Pnt_3(x, y, z), new oc.gp_Dir_4(0, 0, 1));
    const face = new oc.BRepBuilderAPI_MakeFace_10(new oc.gp_Cylinder_2(axes, 4), 0, 2 * Math.PI, 0, 20);
    builder.Add(all, face.Face());
    const from = new oc.gp_Pnt_3(x, y, z);
    builder.Add(all, new oc.BRepBuilderAPI_MakeEdge_3(from, new oc.gp_Pnt_3(x, y, z + 20)).Edge());
  }
  const writer = new oc.STEPControl_Writer_1();
  writer.Transfer(all, oc.STEPControl_StepModelType.STEPControl_AsIs, true, new oc.Message_ProgressRange_1());
  writer.Write('/peer.step');
}
