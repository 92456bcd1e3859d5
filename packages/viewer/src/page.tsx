import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { listenForKeys } from './keys/keys.js';
import { late } from './paper/late.js';
import { Paper } from './paper/paper.js';
import type { Session } from './session/session.js';

const Scene = late(async () => (await import('./scene/scene.js')).Scene);
const SectionDrawing = late(async () => (await import('./drawing/section-drawing.js')).SectionDrawing);

/** The drawing sheet: the scene fills it, the job sheet lies at its side, the section drawing slides in below. */
export function Page({ session }: { readonly session: Session }): JSX.Element {
  useEffect(() => listenForKeys(), []);
  return (
    <>
      <Scene session={session} />
      <SectionDrawing session={session} />
      <Paper session={session} />
    </>
  );
}
