/** How a press on a row changes what is selected. */
export interface Press {
  /** With ctrl or command: this row too, or no longer. */
  readonly toggles?: boolean;
  /** With shift: all from the row before to this one. */
  readonly extends?: boolean;
}

/**
 * The selection after a press on a row, in the order rows were selected.
 *
 * @param ids all rows, as they stand below each other
 * @param from where an extended selection starts: the row pressed before
 */
export function pressed(
  selected: readonly string[],
  id: string,
  press: Press,
  ids: readonly string[],
  from: string | undefined,
): readonly string[] {
  if (press.toggles) return selected.includes(id) ? selected.filter((other) => other !== id) : [...selected, id];
  if (press.extends && from !== undefined && ids.includes(from)) {
    const [a, b] = [ids.indexOf(from), ids.indexOf(id)];
    const range = ids.slice(Math.min(a, b), Math.max(a, b) + 1);
    return a <= b ? range : range.toReversed();
  }
  return [id];
}

/** The row a key leads to from another; undefined where the key leads nowhere. */
export function rowAfter(ids: readonly string[], at: string | undefined, key: string): string | undefined {
  const index = at === undefined ? -1 : ids.indexOf(at);
  switch (key) {
    case 'ArrowDown':
      return ids[Math.min(index + 1, ids.length - 1)];
    case 'ArrowUp':
      return ids[Math.max(index - 1, 0)];
    case 'Home':
      return ids[0];
    case 'End':
      return ids.at(-1);
    default:
      return undefined;
  }
}
