/**
 * Inverse of a symmetric information matrix, m×m, row-major. A parameter without information (its gradient is zero: it was
 * taken as given) gets zeros. What the points cannot tell gets a variance so large that no one will take it for known.
 */
export function inverseInformation(information: Float64Array, m: number): Float64Array {
  const root = new Float64Array(m);
  for (let a = 0; a < m; a++) root[a] = Math.sqrt(information[a * m + a]);
  const lower = new Float64Array(m * m);
  for (let j = 0; j < m; j++) {
    if (root[j] === 0) continue;
    for (let i = j; i < m; i++) {
      if (root[i] === 0) continue;
      let s = information[i * m + j] / (root[i] * root[j]);
      for (let k = 0; k < j; k++) s -= lower[i * m + k] * lower[j * m + k];
      lower[i * m + j] = i === j ? Math.sqrt(Math.max(s, 1e-14)) : s / lower[j * m + j];
    }
  }
  const inverse = new Float64Array(m * m);
  const column = new Float64Array(m);
  for (let c = 0; c < m; c++) {
    if (root[c] === 0) continue;
    for (let i = 0; i < m; i++) {
      let s = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) s -= lower[i * m + k] * column[k];
      column[i] = root[i] === 0 ? 0 : s / lower[i * m + i];
    }
    for (let i = m - 1; i >= 0; i--) {
      let s = column[i];
      for (let k = i + 1; k < m; k++) s -= lower[k * m + i] * column[k];
      column[i] = root[i] === 0 ? 0 : s / lower[i * m + i];
    }
    for (let i = 0; i < m; i++) inverse[i * m + c] = root[i] === 0 ? 0 : column[i] / (root[i] * root[c]);
  }
  return inverse;
}
