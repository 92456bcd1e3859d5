/** A piece of the file short and harmless enough to stand in a message. */
export function excerpt(text: string): string {
  // A character takes two places at most.
  const plain = Array.from(text.slice(0, 2 * 61), (c) => (c < ' ' || c === '\u007f' || c === '\ufffd' ? '·' : c));
  return plain.length > 60 ? `${plain.slice(0, 57).join('')}…` : plain.join('');
}
