import type { JSX } from 'preact';

/** A warning on a card, where there is little room: its beginning, and all of it when it is unfolded. */
export function FoldedWarning({ message }: { readonly message: string }): JSX.Element {
  const [first, rest] = firstClause(message);
  if (!rest) return <p class="warning">{first}</p>;
  return (
    <details class="warning">
      <summary title="Tell all of it, or only how it begins">{first}</summary>
      {rest}
    </details>
  );
}

/** A warning up to its first colon or full stop, and what follows. */
export function firstClause(message: string): readonly [string, string] {
  const end = /[.:] /.exec(message);
  return end ? [message.slice(0, end.index), message.slice(end.index + 2)] : [message, ''];
}
