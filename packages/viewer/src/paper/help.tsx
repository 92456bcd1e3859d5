import { CAUTION } from '@fettle/io';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type KeyPlace, keyActs, keyInWords, type PlacedKey, withArrowsAsOne } from '../keys/keys.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';

/** What is done by key somewhere on the page, and by which. */
export interface KeyLine {
  readonly words: string;
  readonly keys: readonly string[];
}

/** Acts of a place with all their keys, each act once, in the order they were registered. */
export function keysByAct(acts: readonly PlacedKey[], place: KeyPlace): readonly KeyLine[] {
  const found = new Map<string, Set<string>>();
  for (const { words, key, place: of } of acts)
    if (of === place) found.set(words, (found.get(words) ?? new Set()).add(key));
  return [...found].map(([words, keys]) => ({ words, keys: withArrowsAsOne([...keys]) }));
}

const places: readonly { readonly place: KeyPlace; readonly title: string }[] = [
  { place: 'page', title: 'Everywhere' },
  { place: 'scene', title: 'On the scan' },
  { place: 'sheet', title: 'On the job sheet' },
  { place: 'slip', title: 'On a slip, as of the datum frame' },
  { place: 'drawing', title: 'On the drawing of a section' },
];

/** The one page of help. */
export function Help({ desk }: { readonly desk: Desk }): JSX.Element | null {
  const dialog = useRef<HTMLDialogElement>(null);
  const isOpen = desk.isHelpOpen.value;
  useEffect(() => {
    if (isOpen) dialog.current?.showModal();
  }, [isOpen]);
  if (!isOpen) return null;
  const close = (): void => {
    desk.isHelpOpen.value = false;
  };
  // The browser closes it some time after the key, and lets go of what was under focus later still: the next key is for the page.
  const shut = (): void => {
    dialog.current?.close();
    (document.activeElement as HTMLElement | null)?.blur();
  };
  return (
    <dialog
      ref={dialog}
      class="help"
      aria-labelledby="help-title"
      onClose={close}
      onKeyDown={(event) => {
        if (event.key !== 'Escape') return;
        event.preventDefault();
        shut();
      }}
    >
      <header>
        <h2 id="help-title">How to measure a scan</h2>
        <Control name="Close" kind="quiet" keys={['Escape']} onAct={shut} />
      </header>
      <div class="help-words">
        <ol>
          <li>
            <b>Open</b> a scan. It never leaves this computer.
          </li>
          <li>
            <b>Grow</b>, and click on a face, a bore, a boss. What was fitted stands beside the pointer with its ±. Hold
            Shift and click to add another patch, Alt to take one away. <b>Enter</b> keeps it as a row of the job sheet.
          </li>
          <li>
            <b>Relate</b>: select two or three rows and see what can be built or measured between them.
          </li>
          <li>
            <b>Datum frame</b>: a plane, a line and a point of the machine, or three planes. All rows are told in it.
          </li>
          <li>
            <b>Section</b>: cut the scan; in the drawing, pick a stretch and get its line or arc.
          </li>
          <li>
            <b>By hand</b>: what a caliper says stands beside the scan, or gives a hole its size.
          </li>
          <li>
            <b>Hand over</b>: geometry for CAD, drawings, the report, and the plan that measures the next scan alike.
          </li>
        </ol>
        <p>
          A number after <b>±</b> holds for 95 of 100 such statements. <b>rms</b> and <b>form</b> tell how well points
          lie on a feature, not how well it is known. Points <b>rejected</b> lie farther off than the scatter explains.
        </p>
        <p>All is kept in this browser as you work: close the page, come back, and go on.</p>
        <p class="caution">
          <b>Caution.</b> {CAUTION}
        </p>
      </div>
      <div class="help-keys">
        <h3>Keys</h3>
        {places.map(({ place, title }) => (
          <table key={place}>
            <caption>{title}</caption>
            <tbody>
              {keysByAct(keyActs.value, place).map(({ words, keys }) => (
                <tr key={words}>
                  <th scope="row">
                    {keys.map((key) => (
                      <kbd key={key}>{keyInWords(key)}</kbd>
                    ))}
                  </th>
                  <td>{words}</td>
                </tr>
              ))}
            </tbody>
          </table>
        ))}
      </div>
    </dialog>
  );
}
