/** A page that is not answered within this begins as it is, ms. */
const PATIENCE = 3000;

/** The page's files are kept by a service worker: a newer one waits until it is asked to take over, which is done before any work begins. */
export class NewVersion {
  readonly #container: ServiceWorkerContainer;

  constructor(container: ServiceWorkerContainer) {
    this.#container = container;
  }

  /** Whether this page came from the files kept, beside which a newer version may wait. */
  get isKept(): boolean {
    return this.#container.controller !== null;
  }

  /** Takes a version that waits, if no other tab works with the one in place; then the page is loaded again. @returns whether it is */
  async take(): Promise<boolean> {
    const waiting = (await this.#container.getRegistration().catch(() => undefined))?.waiting;
    if (!waiting || !this.isKept) return false;
    return await new Promise((resolve) => {
      const answer = new MessageChannel();
      answer.port1.onmessage = () => resolve(false);
      // However late it comes: files of the version in place are then gone, and what was done is kept.
      const reload = () => {
        resolve(true);
        location.reload();
      };
      this.#container.addEventListener('controllerchange', reload, { once: true });
      setTimeout(() => resolve(false), PATIENCE);
      waiting.postMessage('take-over', [answer.port2]);
    });
  }

  /** Has the files kept, and tells once a newer version of them is ready. */
  watch(ready: () => void): void {
    void this.#container.register('./offline.js').then(
      (registration) => {
        if (registration.waiting) ready();
        const follow = () => {
          const { installing } = registration;
          installing?.addEventListener('statechange', () => {
            // The first to be kept is no newer one.
            if (installing.state === 'installed' && this.#container.controller) ready();
          });
        };
        // Another tab may have found it.
        follow();
        registration.addEventListener('updatefound', follow);
      },
      // Without it the page works too, as long as its server is there.
      () => undefined,
    );
  }
}
