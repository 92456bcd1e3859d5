/** The value that would stand at place k (from 0) if `values` were sorted. Rearranges `values`. Hoare's quickselect. */
export function nthSmallest(values: Float64Array, k: number): number {
  let left = 0;
  let right = values.length - 1;
  while (left < right) {
    const pivot = values[(left + right) >> 1];
    let i = left;
    let j = right;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        const swap = values[i];
        values[i++] = values[j];
        values[j--] = swap;
      }
    }
    if (k <= j) right = j;
    else if (k >= i) left = i;
    else break;
  }
  return values[k];
}
