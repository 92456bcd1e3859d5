import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Vec3 } from '@fettle/geom';

/**
 * What an independent geometry kernel (Open CASCADE, compiled to WebAssembly) sees in a STEP file: every named set of curves and every
 * named surface model, with the exact geometry it has after reading, and whether the kernel's own check finds the shapes valid.
 */
export interface Seen {
  readonly valid: boolean;
  readonly items: ReadonlyMap<string, SeenItem>;
}

export interface SeenItem {
  readonly faces: readonly SeenFace[];
  readonly edges: readonly SeenEdge[];
  /** Points that bound no edge. */
  readonly points: readonly Vec3[];
}

export interface SeenFace {
  readonly name: string;
  readonly kind: 'plane' | 'cylinder' | 'cone' | 'sphere' | 'other';
  /** Of the plane's placement, the axis's, the center; of a cone the apex. */
  readonly location: Vec3;
  readonly direction: Vec3;
  readonly radius: number;
  readonly halfAngle: number;
  readonly area: number;
  /** mm */
  readonly corners: readonly Vec3[];
}

export interface SeenEdge {
  readonly kind: 'line' | 'circle' | 'ellipse' | 'other';
  readonly start: Vec3;
  readonly middle: Vec3;
  readonly end: Vec3;
  readonly center?: Vec3;
  readonly direction?: Vec3;
  readonly radius?: number;
  readonly minor?: number;
}

// biome-ignore lint/suspicious/noExplicitAny: the package's own declarations, 9 MB of them, would be read with every type check.
type Kernel = any;

let loading: Promise<Kernel> | undefined;

/** Some seconds the first time. */
export function kernel(): Promise<Kernel> {
  loading ??= load();
  return loading;
}

async function load(): Promise<Kernel> {
  const require = createRequire(import.meta.url);
  const script = require.resolve('opencascade.js/dist/opencascade.full.js');
  // It is written for CommonJS and shipped as a module.
  Object.assign(globalThis, { __dirname: dirname(script), require });
  const { default: start } = await import(/* @vite-ignore */ pathToFileURL(script).href);
  const wasmBinary = readFileSync(require.resolve('opencascade.js/dist/opencascade.full.wasm'));
  return start({ wasmBinary, print: () => {}, printErr: () => {} });
}

export async function seenByKernel(file: Uint8Array): Promise<Seen> {
  const oc = await kernel();
  oc.FS.writeFile('/seen.step', file);
  const reader = new oc.STEPControl_Reader_1();
  if (reader.ReadFile('/seen.step') !== oc.IFSelect_ReturnStatus.IFSelect_RetDone) throw new Error('not read');
  reader.TransferRoots(new oc.Message_ProgressRange_1());
  const whole = reader.OneShape();
  const valid = new oc.BRepCheck_Analyzer(whole, true, false).IsValid_2();
  const transfer = reader.WS().get().TransferReader().get();
  const entityOf = (shape: Kernel): Kernel => {
    const handle = transfer.EntityFromShapeResult(shape, 1);
    return handle.IsNull() ? undefined : handle.get();
  };

  const items = new Map<string, SeenItem>();
  const walk = (shape: Kernel): void => {
    const entity = entityOf(shape);
    const type = entity?.DynamicType().get().Name() ?? '';
    if (/^StepShape_(OpenShell|ClosedShell|GeometricCurveSet)$/.test(type)) {
      items.set(
        nameOf(entity),
        seenItem(oc, shape, (face) => nameOf(entityOf(face))),
      );
      return;
    }
    for (const parts = new oc.TopoDS_Iterator_2(shape, true, true); parts.More(); parts.Next()) walk(parts.Value());
  };
  walk(whole);
  return { valid, items };
}

/** Whether a file's shapes are valid, and every circle among its edges where it lies in the whole, parts placed. */
export async function circlesByKernel(
  file: Uint8Array,
): Promise<{ readonly valid: boolean; readonly circles: readonly SeenEdge[] }> {
  const oc = await kernel();
  oc.FS.writeFile('/seen.step', file);
  const reader = new oc.STEPControl_Reader_1();
  if (reader.ReadFile('/seen.step') !== oc.IFSelect_ReturnStatus.IFSelect_RetDone) throw new Error('not read');
  reader.TransferRoots(new oc.Message_ProgressRange_1());
  const whole = reader.OneShape();
  const { TopAbs_EDGE, TopAbs_SHAPE } = oc.TopAbs_ShapeEnum;
  const edges: SeenEdge[] = [];
  for (const e = new oc.TopExp_Explorer_2(whole, TopAbs_EDGE, TopAbs_SHAPE); e.More(); e.Next())
    edges.push(seenEdge(oc, oc.TopoDS.Edge_1(e.Current())));
  return {
    valid: new oc.BRepCheck_Analyzer(whole, true, false).IsValid_2(),
    circles: edges.filter(({ kind }) => kind === 'circle'),
  };
}

/** The kernel hands out the bytes of UTF-8 as characters. */
const nameOf = (entity: Kernel): string => Buffer.from(entity.Name().get().ToCString(), 'latin1').toString('utf8');

function seenItem(oc: Kernel, shape: Kernel, nameOf: (face: Kernel) => string): SeenItem {
  const { TopAbs_FACE, TopAbs_EDGE, TopAbs_VERTEX, TopAbs_SHAPE } = oc.TopAbs_ShapeEnum;
  const each = <T>(type: Kernel, avoid: Kernel, of: (s: Kernel) => T): T[] => {
    const found: T[] = [];
    for (const e = new oc.TopExp_Explorer_2(shape, type, avoid); e.More(); e.Next()) found.push(of(e.Current()));
    return found;
  };
  return {
    faces: each(TopAbs_FACE, TopAbs_SHAPE, (face) => ({ name: nameOf(face), ...seenFace(oc, oc.TopoDS.Face_1(face)) })),
    edges: each(TopAbs_EDGE, TopAbs_FACE, (edge) => seenEdge(oc, oc.TopoDS.Edge_1(edge))),
    points: each(TopAbs_VERTEX, TopAbs_EDGE, (vertex) => xyz(oc.BRep_Tool.Pnt(oc.TopoDS.Vertex_1(vertex)))),
  };
}

const xyz = (p: Kernel): Vec3 => [p.X(), p.Y(), p.Z()];

function seenFace(oc: Kernel, face: Kernel): Omit<SeenFace, 'name'> {
  const surface = new oc.BRepAdaptor_Surface_2(face, true);
  const types = oc.GeomAbs_SurfaceType;
  const type = surface.GetType();
  const properties = new oc.GProp_GProps_1();
  oc.BRepGProp.SurfaceProperties_1(face, properties, false, false);
  const corners: Vec3[] = [];
  const { TopAbs_VERTEX, TopAbs_SHAPE } = oc.TopAbs_ShapeEnum;
  for (const e = new oc.TopExp_Explorer_2(face, TopAbs_VERTEX, TopAbs_SHAPE); e.More(); e.Next())
    corners.push(xyz(oc.BRep_Tool.Pnt(oc.TopoDS.Vertex_1(e.Current()))));
  const common = { area: properties.Mass(), corners, radius: Number.NaN, halfAngle: Number.NaN };
  if (type === types.GeomAbs_Plane) {
    const plane = surface.Plane();
    return { ...common, kind: 'plane', location: xyz(plane.Location()), direction: xyz(plane.Axis().Direction()) };
  }
  if (type === types.GeomAbs_Cylinder) {
    const cylinder = surface.Cylinder();
    const axis = { location: xyz(cylinder.Location()), direction: xyz(cylinder.Axis().Direction()) };
    return { ...common, kind: 'cylinder', ...axis, radius: cylinder.Radius() };
  }
  if (type === types.GeomAbs_Cone) {
    const cone = surface.Cone();
    const axis = { location: xyz(cone.Apex()), direction: xyz(cone.Axis().Direction()) };
    return { ...common, kind: 'cone', ...axis, radius: cone.RefRadius(), halfAngle: cone.SemiAngle() };
  }
  if (type === types.GeomAbs_Sphere) {
    const sphere = surface.Sphere();
    const axis = { location: xyz(sphere.Location()), direction: xyz(sphere.Position().Direction()) };
    return { ...common, kind: 'sphere', ...axis, radius: sphere.Radius() };
  }
  return { ...common, kind: 'other', location: [0, 0, 0], direction: [0, 0, 0] };
}

function seenEdge(oc: Kernel, edge: Kernel): SeenEdge {
  const curve = new oc.BRepAdaptor_Curve_2(edge);
  const types = oc.GeomAbs_CurveType;
  const [from, to] = [curve.FirstParameter(), curve.LastParameter()];
  const at = (t: number) => xyz(curve.Value(t));
  const ends = { start: at(from), middle: at((from + to) / 2), end: at(to) };
  const type = curve.GetType();
  if (type === types.GeomAbs_Line) return { kind: 'line', ...ends, direction: xyz(curve.Line().Direction()) };
  if (type === types.GeomAbs_Circle) {
    const circle = curve.Circle();
    const direction = xyz(circle.Axis().Direction());
    return { kind: 'circle', ...ends, center: xyz(circle.Location()), direction, radius: circle.Radius() };
  }
  if (type === types.GeomAbs_Ellipse) {
    const ellipse = curve.Ellipse();
    const sizes = { radius: ellipse.MajorRadius(), minor: ellipse.MinorRadius() };
    return {
      kind: 'ellipse',
      ...ends,
      center: xyz(ellipse.Location()),
      direction: xyz(ellipse.Axis().Direction()),
      ...sizes,
    };
  }
  return { kind: 'other', ...ends };
}
