import { signal } from '@preact/signals';
import type { ComponentType, JSX } from 'preact';

/** A component whose code is loaded when it is first shown. Until then there is nothing in its place. */
export function late<P extends object>(load: () => Promise<ComponentType<P>>): (props: P) => JSX.Element | null {
  const loaded = signal<ComponentType<P>>();
  let isAsked = false;
  return function Late(props: P) {
    if (!isAsked) {
      isAsked = true;
      void load().then((component) => {
        loaded.value = component;
      });
    }
    const Component = loaded.value;
    return Component === undefined ? null : <Component {...props} />;
  };
}
