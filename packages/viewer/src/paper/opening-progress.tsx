import { megabytes } from '@fettle/io';
import type { JSX } from 'preact';
import type { Opening, Session } from '../session/session.js';
import { Control } from './control.js';

/** `12 of 372 MB`, or how much of the demo is loaded. */
export function openingWords(opening: Opening): string {
  if ('share' in opening) return `${Math.round(100 * opening.share)} % loaded`;
  const { bytes, total } = opening;
  if (total === undefined) return `${megabytes(bytes)} MB read`;
  if (bytes >= total) return `${megabytes(total)} MB read; finding its points and surfaces`;
  return `${megabytes(bytes)} of ${megabytes(total)} MB read`;
}

const shareOf = (opening: Opening): number | undefined => {
  if ('share' in opening) return opening.share;
  return opening.total ? opening.bytes / opening.total : undefined;
};

/** How far a file is read, and a way to stop it. */
export function OpeningProgress({ session }: { readonly session: Session }): JSX.Element | null {
  const opening = session.opening.value;
  if (opening === undefined) return null;
  return (
    <section class="opening" aria-label="Opening">
      <h2>{opening.name}</h2>
      <progress aria-label={`Opening ${opening.name}`} value={shareOf(opening)} max={1} />
      <p role="status">{openingWords(opening)}</p>
      <Control name="Cancel" hint="Stop reading" keys={['Escape']} onAct={() => session.cancelOpening()} />
    </section>
  );
}
