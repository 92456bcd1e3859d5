import './made-code.js';
import { render } from 'preact';
import { NewVersion } from './offline/new-version.js';
import { Page } from './page.js';
import { connectMeasurer } from './session/connect.js';
import { createSession } from './session/create-session.js';
import { holdJob } from './session/held-job.js';
import { browserKeep } from './session/keep.js';
import { tellItIsTaken, tellOfOtherTabs } from './session/other-tabs.js';

function begin(): void {
  const job = holdJob(async () => {
    await session.lookOnly();
    tellItIsTaken(session, (await job).number);
  });
  const session = createSession({ measurer: connectMeasurer(), keep: browserKeep(job) });
  render(<Page session={session} />, document.querySelector('#page')!);
  void job.then(async (held) => {
    if (!held.isHeld) void session.lookOnly();
    await tellOfOtherTabs(session, held);
  });
  version?.watch(() =>
    session.say({
      tone: 'word',
      message:
        'A new version of this page is ready. It is taken the next time the page is loaded with no other tab of it open.',
    }),
  );
}

const isServed = import.meta.env.PROD && 'serviceWorker' in navigator;
const version = isServed ? new NewVersion(navigator.serviceWorker) : undefined;
// Before anything is open is the time to change over. A page that came from its server begins at once: keys pressed early are not lost.
if (version?.isKept !== true || !(await version.take())) begin();
