/**
 * Edit distance with neighboring letters swapped counting as one (optimal string alignment).
 * Oommen & Loke, Pattern Recognition 30 (1997) 789-800.
 */
export function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const substitution = last[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      let d = Math.min(substitution, last[j]! + 1, row[j - 1]! + 1);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) d = Math.min(d, before[j - 2]! + 1);
      row.push(d);
    }
    before = last;
    last = row;
  }
  return last[b.length]!;
}

/**
 * The candidate nearest to a word, if it is near enough to be what was meant: off by a third of its letters or by two, and with
 * some letter in common.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  let best: string | undefined;
  let distance = Math.max(2, Math.floor(word.length / 3));
  for (const candidate of candidates) {
    // Letters too many or too few are edits all the same.
    if (Math.abs(word.length - candidate.length) > distance) continue;
    const d = editDistance(word.toLowerCase(), candidate.toLowerCase());
    if (d >= Math.min(word.length, candidate.length)) continue;
    if (d < distance || (d === distance && best === undefined)) {
      best = candidate;
      distance = d;
    }
  }
  return best;
}

/** ` Did you mean radius?`, or nothing where no name is near. */
export function meant(word: string, candidates: Iterable<string>): string {
  const near = nearest(word, candidates);
  return near === undefined ? '' : ` Did you mean ${near}?`;
}
