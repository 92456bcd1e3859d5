import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { Control } from './control.js';

/** What the page has to say, until it is put away. Refusals are read out at once. */
export function Notices({ session }: { readonly session: Session }): JSX.Element {
  const notices = session.notices.value;
  const list = (tone: 'refusal' | 'word') =>
    notices
      .filter((notice) => notice.tone === tone)
      .map((notice) => (
        <li key={`${notice.code} ${notice.message}`} class={`notice ${tone}`}>
          <p>{notice.message}</p>
          {notice.acts?.map(({ name, act }) => (
            <Control key={name} name={name} onAct={act} />
          ))}
          <Control name="Put this note away" sign="close" kind="quiet" onAct={() => session.dismiss(notice)} />
        </li>
      ));
  return (
    <div class="notices">
      <ul role="alert" aria-label="Refused">
        {list('refusal')}
      </ul>
      <ul role="status" aria-label="Notes">
        {list('word')}
      </ul>
    </div>
  );
}
