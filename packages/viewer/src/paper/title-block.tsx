import { LONGEST_TITLE } from '@fettle/geom';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { Control } from './control.js';
import { leaveField } from './leave-field.js';

/** In the bottom right corner, as on a drawing: what is measured, on which scan, in which frame. */
export function TitleBlock({ session }: { readonly session: Session }): JSX.Element {
  const scan = session.scan.value;
  const { title, steps } = session.plan.value;
  const frame = steps.findLast(({ step }) => step === 'frame')?.id;
  const size = scan && (scan.triangles || scan.points).toLocaleString('en-US');
  return (
    <section class="title-block" aria-label="Title block">
      <label class="cell title" title="What is measured: the title of plan, report and drawings (Shift + T)">
        <span>Title</span>
        <input
          type="text"
          title={`${title}: the title of plan, report and drawings (Shift + T)`}
          value={title}
          maxLength={LONGEST_TITLE}
          onKeyDown={(event) => leaveField(event, title)}
          onChange={({ currentTarget }) => {
            if (currentTarget.value.trim()) session.setTitle(currentTarget.value.trim());
            else currentTarget.value = title;
          }}
        />
      </label>
      <p class="cell">
        <span>Scan</span>
        <b title={scan?.name}>{scan?.name ?? 'none'}</b>
        {session.isScanKept.value && (
          <Control
            name="Forget its copy"
            hint="This browser keeps a copy of the scan, so that a reload goes on. Take that out of its storage"
            kind="quiet"
            onAct={() => void session.forgetScan()}
          />
        )}
      </p>
      <p class="cell">
        <span>{scan?.triangles === 0 ? 'Points' : 'Triangles'}</span>
        <b>{size ?? '–'}</b>
      </p>
      <p class="cell">
        <span>Datum frame</span>
        <b>{frame ?? 'of the scan'}</b>
      </p>
      <p class="cell">
        <span>Unit</span>
        <b>mm, °</b>
      </p>
    </section>
  );
}
