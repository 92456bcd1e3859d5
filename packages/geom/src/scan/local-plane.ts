/**
 * The plane with the least squared distances to the few points about a place, without allocating: start, add the points,
 * solve, read the fields. Coordinates are summed relative to the place, so that no digits are lost far from the origin.
 */
export class LocalPlane {
  count = 0;
  /** Centroid. */
  cx = 0;
  cy = 0;
  cz = 0;
  /** Unit normal, either way around. */
  nx = 0;
  ny = 0;
  nz = 0;
  /** Root mean square of the distances from the plane, mm. */
  rms = 0;
  #x = 0;
  #y = 0;
  #z = 0;
  #sx = 0;
  #sy = 0;
  #sz = 0;
  #xx = 0;
  #xy = 0;
  #xz = 0;
  #yy = 0;
  #yz = 0;
  #zz = 0;

  start(x: number, y: number, z: number): void {
    this.count = 0;
    this.#x = x;
    this.#y = y;
    this.#z = z;
    this.#sx = this.#sy = this.#sz = 0;
    this.#xx = this.#xy = this.#xz = this.#yy = this.#yz = this.#zz = 0;
  }

  add(px: number, py: number, pz: number): void {
    const x = px - this.#x;
    const y = py - this.#y;
    const z = pz - this.#z;
    this.count++;
    this.#sx += x;
    this.#sy += y;
    this.#sz += z;
    this.#xx += x * x;
    this.#xy += x * y;
    this.#xz += x * z;
    this.#yy += y * y;
    this.#yz += y * z;
    this.#zz += z * z;
  }

  /** From sums taken elsewhere: count, x, y, z, xx, xy, xz, yy, yz, zz. The centroid is from the origin of those sums. */
  solveMoments(sums: ArrayLike<number>): boolean {
    this.start(0, 0, 0);
    this.count = sums[0];
    this.#sx = sums[1];
    this.#sy = sums[2];
    this.#sz = sums[3];
    this.#xx = sums[4];
    this.#xy = sums[5];
    this.#xz = sums[6];
    this.#yy = sums[7];
    this.#yz = sums[8];
    this.#zz = sums[9];
    return this.solve();
  }

  /** False, and no normal, if the points are fewer than three or lie on a line. */
  solve(): boolean {
    const n = this.count;
    if (n < 3) return false;
    const mx = this.#sx / n;
    const my = this.#sy / n;
    const mz = this.#sz / n;
    this.cx = this.#x + mx;
    this.cy = this.#y + my;
    this.cz = this.#z + mz;
    const xx = this.#xx / n - mx * mx;
    const xy = this.#xy / n - mx * my;
    const xz = this.#xz / n - mx * mz;
    const yy = this.#yy / n - my * my;
    const yz = this.#yz / n - my * mz;
    const zz = this.#zz / n - mz * mz;
    // Least eigenvalue in closed form (Smith, CACM 4 (1961)), then its vector as the longest cross product of two rows of A − λ I.
    const mean = (xx + yy + zz) / 3;
    const a = xx - mean;
    const b = yy - mean;
    const c = zz - mean;
    const p = Math.sqrt((a * a + b * b + c * c + 2 * (xy * xy + xz * xz + yz * yz)) / 6);
    if (!(p > 0)) return false;
    const half = (a * (b * c - yz * yz) - xy * (xy * c - yz * xz) + xz * (xy * yz - b * xz)) / (2 * p * p * p);
    const angle = Math.acos(Math.max(-1, Math.min(half, 1))) / 3;
    const least = mean + 2 * p * Math.cos(angle + (2 * Math.PI) / 3);
    const dx = xx - least;
    const dy = yy - least;
    const dz = zz - least;
    let ux = xy * yz - xz * dy;
    let uy = xz * xy - dx * yz;
    let uz = dx * dy - xy * xy;
    let best = ux * ux + uy * uy + uz * uz;
    const vx = xy * dz - xz * yz;
    const vy = xz * xz - dx * dz;
    const vz = dx * yz - xy * xz;
    const second = vx * vx + vy * vy + vz * vz;
    if (second > best) {
      best = second;
      ux = vx;
      uy = vy;
      uz = vz;
    }
    const wx = dy * dz - yz * yz;
    const wy = yz * xz - xy * dz;
    const wz = xy * yz - dy * xz;
    const third = wx * wx + wy * wy + wz * wz;
    if (third > best) {
      best = third;
      ux = wx;
      uy = wy;
      uz = wz;
    }
    // The cross products vanish where the two lesser eigenvalues meet: the points are on a line.
    if (!(best > 1e-20 * p * p * p * p)) return false;
    const length = Math.sqrt(best);
    this.nx = ux / length;
    this.ny = uy / length;
    this.nz = uz / length;
    this.rms = Math.sqrt(Math.max(least, 0));
    return true;
  }
}
