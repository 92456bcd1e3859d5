import type { Page } from 'playwright-core';

/** Once a page is laid out as it was last changed, and its scene shows all it is to show: nothing is on its way to the screen. */
export const atRest = (page: Page): Promise<void> =>
  page.evaluate(async () => {
    const pictures = async (): Promise<void> => {
      // The first may have been begun before the change.
      for (let i = 0; i < 2; i++) await new Promise((resolve) => requestAnimationFrame(resolve));
    };
    const isBusy = (): boolean => document.querySelector('.scene > canvas')?.getAttribute('aria-busy') === 'true';
    do await pictures();
    while (isBusy());
  });
