/** Unknowns: h = c0 + c1·u + c2·v + c3·u² + c4·u·v + c5·v². */
const SIZE = 6;

/**
 * The quadric with the least squared heights to the few points about a place, over a plane through it, and how it bends there,
 * without allocating: start, add the points, solve, read the fields. Slope and height are fitted too, so that neither the
 * normal given nor the noise of the one point decides (the extended quadric of Garimella & Swartz, Curvature estimation for
 * unstructured triangulations of surfaces, LA-UR-03-8240 (2003)).
 */
export class LocalQuadric {
  count = 0;
  /** Principal curvatures, 1/mm, positive where the surface bends away from its normal, as a ball does; `most` ≥ `least`. */
  most = 0;
  least = 0;
  /** Unit direction of the curve that bends by `most`. */
  ax = 0;
  ay = 0;
  az = 0;
  readonly #u = new Float64Array(3);
  readonly #v = new Float64Array(3);
  readonly #n = new Float64Array(3);
  readonly #place = new Float64Array(3);
  readonly #matrix = new Float64Array(SIZE * SIZE);
  readonly #right = new Float64Array(SIZE);
  readonly #row = new Float64Array(SIZE);
  #size = 1;

  /** @param size about how far the points are away, mm: keeps the equations of one scale */
  start(x: number, y: number, z: number, nx: number, ny: number, nz: number, size: number): void {
    this.count = 0;
    this.#size = size;
    this.#place.set([x, y, z]);
    this.#n.set([nx, ny, nz]);
    // u square to the normal and to the axis it is least along.
    const k = Math.abs(nx) <= Math.abs(ny) && Math.abs(nx) <= Math.abs(nz) ? 0 : Math.abs(ny) <= Math.abs(nz) ? 1 : 2;
    const u = this.#u;
    u[0] = k === 0 ? 0 : k === 1 ? -nz : ny;
    u[1] = k === 0 ? nz : k === 1 ? 0 : -nx;
    u[2] = k === 0 ? -ny : k === 1 ? nx : 0;
    const length = Math.hypot(u[0], u[1], u[2]);
    for (let i = 0; i < 3; i++) u[i] /= length;
    this.#v[0] = ny * u[2] - nz * u[1];
    this.#v[1] = nz * u[0] - nx * u[2];
    this.#v[2] = nx * u[1] - ny * u[0];
    this.#matrix.fill(0);
    this.#right.fill(0);
  }

  add(px: number, py: number, pz: number): void {
    const x = (px - this.#place[0]) / this.#size;
    const y = (py - this.#place[1]) / this.#size;
    const z = (pz - this.#place[2]) / this.#size;
    const u = x * this.#u[0] + y * this.#u[1] + z * this.#u[2];
    const v = x * this.#v[0] + y * this.#v[1] + z * this.#v[2];
    const h = x * this.#n[0] + y * this.#n[1] + z * this.#n[2];
    const row = this.#row;
    row[0] = 1;
    row[1] = u;
    row[2] = v;
    row[3] = u * u;
    row[4] = u * v;
    row[5] = v * v;
    for (let i = 0; i < SIZE; i++) {
      for (let j = 0; j <= i; j++) this.#matrix[SIZE * i + j] += row[i] * row[j];
      this.#right[i] += row[i] * h;
    }
    this.count++;
  }

  /** False, and no curvature, if the points are fewer than six or do not tell a quadric: all on a line, or on one conic. */
  solve(): boolean {
    if (this.count < SIZE || !this.#cholesky()) return false;
    const [, d, e, a, b, c] = this.#right;
    // First and second fundamental forms at the place (do Carmo, Differential Geometry of Curves and Surfaces, 3-3).
    const w = Math.sqrt(1 + d * d + e * e);
    const [E, F, G] = [1 + d * d, d * e, 1 + e * e];
    const [L, M, N] = [(-2 * a) / w, -b / w, (-2 * c) / w];
    const area = E * G - F * F;
    const mean = (E * N - 2 * F * M + G * L) / (2 * area);
    const gauss = (L * N - M * M) / area;
    const half = Math.sqrt(Math.max(mean * mean - gauss, 0));
    this.most = (mean + half) / this.#size;
    this.least = (mean - half) / this.#size;
    // The direction solves (II − most·I) (p, q) = 0: the longer of its two rows tells it better.
    const k = mean + half;
    const [r0, r1, s1] = [L - k * E, M - k * F, N - k * G];
    const isFirst = r0 * r0 + r1 * r1 >= r1 * r1 + s1 * s1;
    const p = isFirst ? -r1 : -s1;
    const q = isFirst ? r0 : r1;
    const slope = p * d + q * e;
    let x = p * this.#u[0] + q * this.#v[0] + slope * this.#n[0];
    let y = p * this.#u[1] + q * this.#v[1] + slope * this.#n[1];
    let z = p * this.#u[2] + q * this.#v[2] + slope * this.#n[2];
    const length = Math.hypot(x, y, z);
    // Where all directions bend alike any will do.
    if (!(length > 0)) [x, y, z] = this.#u;
    this.ax = x / (length || 1);
    this.ay = y / (length || 1);
    this.az = z / (length || 1);
    return true;
  }

  /** Solves in place, the solution in `right`; false if the matrix is not safely positive. */
  #cholesky(): boolean {
    const m = this.#matrix;
    const r = this.#right;
    for (let i = 0; i < SIZE; i++) {
      for (let j = 0; j <= i; j++) {
        let sum = m[SIZE * i + j];
        for (let k = 0; k < j; k++) sum -= m[SIZE * i + k] * m[SIZE * j + k];
        if (i === j) {
          if (!(sum > 1e-10 * m[SIZE * i + i])) return false;
          m[SIZE * i + i] = Math.sqrt(sum);
        } else m[SIZE * i + j] = sum / m[SIZE * j + j];
      }
    }
    for (let i = 0; i < SIZE; i++) {
      for (let k = 0; k < i; k++) r[i] -= m[SIZE * i + k] * r[k];
      r[i] /= m[SIZE * i + i];
    }
    for (let i = SIZE - 1; i >= 0; i--) {
      for (let k = i + 1; k < SIZE; k++) r[i] -= m[SIZE * k + i] * r[k];
      r[i] /= m[SIZE * i + i];
    }
    return true;
  }
}
