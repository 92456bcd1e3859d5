import type { Vec3 } from '@fettle/geom';
import {
  BufferAttribute,
  BufferGeometry,
  type Color,
  DoubleSide,
  GLSL3,
  Group,
  Mesh,
  type Object3D,
  Points,
  ShaderMaterial,
  type Sphere,
  Vector3,
  Vector4,
} from 'three';
import type { DrawnSurface } from '../worker/protocol.js';
import { Upload } from './upload.js';

/** What a point of the scan is shown as. */
export const MARK = { plain: 0, draft: 1, selected: 2, rejected: 3, mapped: 4, preview: 5 } as const;

/** Points by their numbers in the scan, and how they are shown; residuals are theirs, in their order, mm. */
export interface Marks {
  readonly points: Uint32Array;
  readonly mark: number;
  readonly residuals?: Float32Array;
}

/** What lies on the side its normal points to is cut away; scan axes. */
export interface ClipPlane {
  readonly point: Vec3;
  readonly normal: Vec3;
}

/** Colors the shader needs: those of the map of residuals as they are shown, the others linear. */
export interface SurfaceColors {
  readonly skin: Color;
  readonly inside: Color;
  readonly draft: Color;
  readonly selected: Color;
  readonly rejected: Color;
  readonly low: Color;
  readonly middle: Color;
  readonly high: Color;
}

const vertexShader = /* glsl */ `
in vec3 paint;
in float mark;
in float residual;
uniform float pointSize;
out vec3 vNormal;
out vec3 vPaint;
out vec3 vPlace;
out float vResidual;
out vec4 vIs;
out float vPreview;
void main() {
  vNormal = normalMatrix * normal;
  vPaint = paint;
  vPlace = position;
  vResidual = residual;
  int m = int(mark + 0.5);
  vIs = vec4(m == ${MARK.draft}, m == ${MARK.selected}, m == ${MARK.rejected}, m == ${MARK.mapped});
  vPreview = float(m == ${MARK.preview});
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  gl_PointSize = pointSize;
}`;

/*
 * Lit from the upper left of the picture and a little from above and below, like a part on a drawing board; faces
 * turned away darken, which draws the edges. Residuals are mixed as their legend is, on values as they are shown, and
 * hardly shaded, so that the legend can be read off. Marks end halfway between a point that has one and a point that
 * has not.
 */
const fragmentShader = /* glsl */ `
precision highp float;
in vec3 vNormal;
in vec3 vPaint;
in vec3 vPlace;
in float vResidual;
in vec4 vIs;
in float vPreview;
uniform bool painted;
uniform bool clipped;
uniform vec4 clip;
uniform float range;
uniform vec3 skin, inside, draft, selected, rejected, low, middle, high;
out vec4 shown;
const vec3 KEY = normalize(vec3(-0.45, 0.6, 0.65));
vec3 asShown(vec3 c) { return pow(c, vec3(1.0 / 2.2)); }
void main() {
  if (clipped && dot(clip.xyz, vPlace) > clip.w) discard;
  float size = length(vNormal);
  // Of a cloud without normals nothing tells which way it faces: what lies deeper is darker.
  vec3 n = size < 0.01 ? KEY : vNormal / size;
  bool back = size >= 0.01 && n.z < 0.0;
  if (back) n = -n;
  float edge = smoothstep(0.0, 0.55, n.z);
  float light = (0.5 + 0.14 * n.y + 0.5 * max(0.0, dot(n, KEY))) * mix(0.5, 1.0, edge);
  if (size < 0.01) light = 1.15 - 0.9 * gl_FragCoord.z;
  if (vIs.w > 0.5) {
    float t = clamp(vResidual / range, -1.0, 1.0);
    vec3 c = mix(middle, t < 0.0 ? low : high, pow(abs(t), 0.85));
    shown = vec4(c * mix(0.8, 1.0, edge), 1.0);
    return;
  }
  vec3 base = painted ? vPaint : (back ? inside : skin);
  if (vIs.x > 0.5) base = mix(base, draft, 0.85);
  else if (vPreview > 0.5) base = mix(base, draft, 0.65);
  else if (vIs.y > 0.5) base = mix(base, selected, 0.6);
  else if (vIs.z > 0.5) { base = rejected; light = max(light, 0.7); }
  shown = vec4(asShown(base * light), 1.0);
}`;

/** Of a point of a cloud, CSS pixels. */
const LEAST_PIXELS = 2;
const MOST_PIXELS = 9;

/**
 * The scan on the graphics card, in full and reduced. One shader shows it plain, painted, with marks and as a map of
 * residuals.
 */
export class Surface {
  readonly group = new Group();
  readonly origin: Vec3;
  /** Of a cloud's points, roughly, mm. */
  readonly #spacing: number;
  readonly #full: Mesh | Points;
  readonly #reduced: Object3D | undefined;
  #isBrought = true;
  #showsReduced = false;
  readonly #material: ShaderMaterial;
  readonly #parts: { readonly geometry: BufferGeometry; readonly points?: Uint32Array }[] = [];

  constructor(full: DrawnSurface, reduced: DrawnSurface | undefined, bounds: Sphere, colors: SurfaceColors) {
    this.origin = full.origin;
    this.#material = new ShaderMaterial({
      glslVersion: GLSL3,
      vertexShader,
      fragmentShader,
      side: DoubleSide,
      uniforms: {
        painted: { value: false },
        clipped: { value: false },
        clip: { value: new Vector4() },
        range: { value: 1 },
        pointSize: { value: 2 },
        ...Object.fromEntries(Object.keys(colors).map((name) => [name, { value: null }])),
      },
    });
    this.recolor(colors);
    // A skin about as large as a ball's: close enough for the size of dots.
    this.#spacing = (3.5 * bounds.radius) / Math.sqrt(full.positions.length / 3);
    this.#full = this.#add(full, bounds);
    this.#reduced = reduced && this.#add(reduced, bounds);
    this.showReduced(false);
  }

  /** The full scan's way to the graphics card; until it is there the reduced one is shown in its place. */
  upload(done: () => void): Upload {
    this.#isBrought = false;
    this.showReduced(this.#showsReduced);
    return new Upload(this.#full.geometry, () => {
      this.#isBrought = true;
      this.showReduced(this.#showsReduced);
      done();
    });
  }

  /** Triangles, or points of a cloud. */
  get size(): number {
    const { index, attributes } = this.#full.geometry;
    return index ? index.count / 3 : attributes.position!.count;
  }

  get isPaintable(): boolean {
    return this.#parts.some(({ geometry }) => geometry.hasAttribute('paint'));
  }

  get hasReduced(): boolean {
    return this.#reduced !== undefined;
  }

  #add({ positions, triangles, normals, colors, points }: DrawnSurface, bounds: Sphere): Mesh | Points {
    const count = positions.length / 3;
    const geometry = new BufferGeometry();
    geometry.setAttribute('position', new BufferAttribute(positions, 3));
    geometry.setAttribute('normal', new BufferAttribute(normals, 3, true));
    if (colors) geometry.setAttribute('paint', new BufferAttribute(colors, 3, true));
    geometry.setAttribute('mark', new BufferAttribute(new Uint8Array(count), 1));
    geometry.setAttribute('residual', new BufferAttribute(new Float32Array(count), 1));
    geometry.boundingSphere = bounds;
    if (triangles) geometry.setIndex(new BufferAttribute(triangles, 1));
    const object = triangles ? new Mesh(geometry, this.#material) : new Points(geometry, this.#material);
    object.frustumCulled = false;
    this.group.add(object);
    this.#parts.push({ geometry, ...(points && { points }) });
    return object;
  }

  /**
   * Marks points by their numbers in the scan, later ones over earlier ones, and maps residuals where they are given.
   */
  mark(marks: readonly Marks[]): void {
    const [full, ...others] = this.#parts;
    const shown = full!.geometry.getAttribute('mark').array as Uint8Array;
    const residual = full!.geometry.getAttribute('residual').array as Float32Array;
    shown.fill(0);
    let isMapped = false;
    for (const { points, mark, residuals } of marks) {
      for (const p of points) shown[p] = mark;
      if (!residuals) continue;
      isMapped = true;
      for (let i = 0; i < points.length; i++) residual[points[i]!] = residuals[i]!;
    }
    for (const { geometry, points } of others) {
      const few = geometry.getAttribute('mark').array as Uint8Array;
      const fewResiduals = geometry.getAttribute('residual').array as Float32Array;
      points?.forEach((p, i) => {
        few[i] = shown[p]!;
        if (isMapped) fewResiduals[i] = residual[p]!;
      });
    }
    for (const { geometry } of this.#parts) {
      geometry.getAttribute('mark').needsUpdate = true;
      if (isMapped) geometry.getAttribute('residual').needsUpdate = true;
    }
  }

  setRange(mm: number): void {
    this.#material.uniforms.range!.value = mm;
  }

  setPainted(painted: boolean): void {
    this.#material.uniforms.painted!.value = painted && this.isPaintable;
  }

  /** Draws the points of a cloud so large that a skin of them closes, @param scale mm a pixel */
  setPointSize(scale: number): void {
    const size = Math.min(MOST_PIXELS, Math.max(LEAST_PIXELS, this.#spacing / scale));
    this.#material.uniforms.pointSize!.value = size * Math.min(2, globalThis.devicePixelRatio ?? 1);
  }

  clip(plane: ClipPlane | undefined): void {
    this.#material.uniforms.clipped!.value = plane !== undefined;
    if (!plane) return;
    const { point, normal } = plane;
    const level = normal.reduce((sum, n, k) => sum + n * (point[k]! - this.origin[k]!), 0);
    (this.#material.uniforms.clip!.value as Vector4).set(normal[0], normal[1], normal[2], level);
  }

  showReduced(reduced: boolean): void {
    this.#showsReduced = reduced;
    const swap = (reduced || !this.#isBrought) && this.#reduced !== undefined;
    this.#full.visible = this.#isBrought && !swap;
    if (this.#reduced) this.#reduced.visible = swap;
  }

  recolor(colors: SurfaceColors): void {
    for (const [name, color] of Object.entries(colors) as [keyof SurfaceColors, Color][])
      this.#material.uniforms[name]!.value = new Vector3(color.r, color.g, color.b);
  }

  dispose(): void {
    for (const { geometry } of this.#parts) geometry.dispose();
    this.#material.dispose();
  }
}
