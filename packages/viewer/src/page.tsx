import type { JSX } from 'preact';
import { late } from './late.js';
import type { Session } from './session/session.js';

const Scene = late(async () => (await import('./scene/scene.js')).Scene);

/** The drawing sheet: the scene fills it, the job sheet lies at its side, the section drawing slides in below. */
export function Page({ session }: { readonly session: Session }): JSX.Element {
  return <Scene session={session} />;
}
