/** A piece of the file short and harmless enough to stand in a message. */
export function excerpt(text: string): string {
  const plain = Array.from(text, (c) => (c < ' ' || c === '\u007f' || c === '\ufffd' ? '·' : c));
  return plain.length > 60 ? `${plain.slice(0, 57).join('')}…` : plain.join('');
}
