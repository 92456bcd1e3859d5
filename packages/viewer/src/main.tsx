import './made-code.js';
import { render } from 'preact';
import { Page } from './page.js';
import { connectMeasurer } from './session/connect.js';
import { createSession } from './session/create-session.js';
import { browserKeep } from './session/keep.js';

const session = createSession({ measurer: connectMeasurer(), keep: browserKeep });
render(<Page session={session} />, document.querySelector('#page')!);

// Without it the page works too, as long as its server is there.
if (import.meta.env.PROD && 'serviceWorker' in navigator)
  navigator.serviceWorker.register('./offline.js').catch(() => {});
