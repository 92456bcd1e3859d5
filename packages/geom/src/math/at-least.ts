/** A covariance with no variance below another's, both m×m: each parameter drawn out to it, correlations as they are. */
export function atLeast(covariance: Float64Array, least: Float64Array): Float64Array {
  const m = Math.round(Math.sqrt(covariance.length));
  const stretch = Float64Array.from({ length: m }, (_, a) => {
    const own = covariance[a * (m + 1)];
    return own > 0 ? Math.max(1, Math.sqrt(least[a * (m + 1)] / own)) : 1;
  });
  return covariance.map((c, k) => c * stretch[Math.floor(k / m)] * stretch[k % m]);
}
