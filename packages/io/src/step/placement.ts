import type { Vec3 } from '@fettle/geom';
import { listText, realText, stringText } from './exchange-text.js';
import type { Instances, Reference } from './instances.js';

const triple = (v: Vec3): string => listText(v.map(realText));

export const point = (to: Instances, p: Vec3, name = ''): Reference =>
  to.add(`CARTESIAN_POINT(${stringText(name)},${triple(p)})`);

export const direction = (to: Instances, d: Vec3): Reference => to.share(`DIRECTION('',${triple(d)})`);

/** An axis placement with z and x given, unit length and square to each other. */
export const placement = (to: Instances, origin: Vec3, z: Vec3, x: Vec3, name = ''): Reference =>
  to.add(`AXIS2_PLACEMENT_3D(${stringText(name)},${point(to, origin)},${direction(to, z)},${direction(to, x)})`);
