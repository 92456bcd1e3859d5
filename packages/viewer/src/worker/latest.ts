/**
 * Lets only the latest of several questions be answered: what was asked while it waited its turn behind others is superseded. Waits for
 * the messages already there to come in first.
 */
export class Latest {
  #asked = 0;

  /** Whether a question is still the latest once those that were on their way have come in. */
  async isLatest(): Promise<boolean> {
    const mine = ++this.#asked;
    await nextTurn();
    return mine === this.#asked;
  }
}

/** A turn of the event loop: messages that have come in are heard before it. */
const nextTurn = (): Promise<void> =>
  new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(undefined);
  });
