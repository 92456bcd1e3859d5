/** Tells of several questions which is the latest: those before it are superseded. */
export class Latest {
  #asked = 0;

  ask(): { isLatest(): boolean } {
    const mine = ++this.#asked;
    return { isLatest: () => mine === this.#asked };
  }
}

/** A turn of the event loop: messages that have come in are heard before it. */
export const nextTurn = (): Promise<void> =>
  new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(undefined);
  });
