import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Desk } from './desk.js';
import { takeFiles } from './take-files.js';

const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false;

/** Takes files dropped anywhere on the page, or chosen. */
export function DropFiles({ desk }: { readonly desk: Desk }): JSX.Element {
  const isOver = useSignal(false);
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => {
    desk.chooser.open = () => input.current?.click();
    const over = (event: DragEvent): void => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      isOver.value = true;
    };
    const leave = (event: DragEvent): void => {
      if (event.relatedTarget === null) isOver.value = false;
    };
    const drop = (event: DragEvent): void => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      isOver.value = false;
      void takeFiles(desk.session, [...(event.dataTransfer?.files ?? [])]);
    };
    window.addEventListener('dragover', over);
    window.addEventListener('dragleave', leave);
    window.addEventListener('drop', drop);
    return () => {
      window.removeEventListener('dragover', over);
      window.removeEventListener('dragleave', leave);
      window.removeEventListener('drop', drop);
    };
  }, [desk, isOver]);
  return (
    <>
      <input
        ref={input}
        class="unseen"
        type="file"
        multiple
        tabIndex={-1}
        aria-label="Scan or plan"
        onChange={({ currentTarget }) => {
          const files = [...(currentTarget.files ?? [])];
          currentTarget.value = '';
          void takeFiles(desk.session, files);
        }}
      />
      {isOver.value && (
        <div class="drop-here">
          <p>Let go to open: a scan, a plan, or both</p>
        </div>
      )}
    </>
  );
}
