import './made-code.js';
import { render } from 'preact';
import { NewVersion } from './offline/new-version.js';
import { Page } from './page.js';
import { connectMeasurer } from './session/connect.js';
import { createSession } from './session/create-session.js';
import { holdJob } from './session/held-job.js';
import { browserKeep } from './session/keep.js';

function begin(): void {
  const job = holdJob();
  const keep = browserKeep(job.then(({ number }) => number));
  const session = createSession({ measurer: connectMeasurer(), keep });
  render(<Page session={session} />, document.querySelector('#page')!);
  const say = (message: string) => session.say({ tone: 'word', message });
  void job.then(({ isAlone }) => {
    if (!isAlone)
      say('Fettle is open in another tab too, with a job of its own. What is done here is kept apart from it.');
  });
  version?.watch(() =>
    say(
      'A new version of this page is ready. It is taken the next time the page is loaded with no other tab of it open.',
    ),
  );
}

const isServed = import.meta.env.PROD && 'serviceWorker' in navigator;
const version = isServed ? new NewVersion(navigator.serviceWorker) : undefined;
// Before anything is open is the time to change over.
if (!(await version?.take())) begin();
