/**
 * Keeps the page's own files, so that it works without a network once it was loaded. Nothing else goes through it. The list of files
 * and the build they are of are written in when the page is built.
 */
declare const BUILD: { readonly version: string; readonly files: readonly string[] };

/** What of a service worker's scope is used here; its own library of types cannot stand beside that of pages. */
interface Scope {
  readonly registration: { readonly scope: string };
  readonly clients: {
    claim(): Promise<void>;
    matchAll(options: {
      readonly includeUncontrolled: true;
      readonly type: 'window';
    }): Promise<readonly { readonly url: string }[]>;
  };
  skipWaiting(): Promise<void>;
  addEventListener(kind: 'install' | 'activate', heard: (event: Lasting) => void): void;
  addEventListener(kind: 'message', heard: (event: Asking) => void): void;
  addEventListener(kind: 'fetch', heard: (event: Fetching) => void): void;
}
interface Lasting extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface Asking extends Lasting {
  readonly data: unknown;
  readonly ports: readonly MessagePort[];
}
interface Fetching extends Event {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}

const scope = self as unknown as Scope;
const PREFIX = 'fettle-';
const NAME = PREFIX + BUILD.version;
const home = new URL('./', scope.registration.scope).href;
const own = new Set(BUILD.files.map((file) => new URL(file, home).href));

scope.addEventListener('install', (event) => {
  event.waitUntil(
    caches.open(NAME).then((cache) => cache.addAll([...own].map((url) => new Request(url, { cache: 'reload' })))),
  );
});

scope.addEventListener('activate', (event) => {
  const outdated = caches
    .keys()
    .then((names) => Promise.all(names.filter(isOutdated).map((name) => caches.delete(name))));
  event.waitUntil(outdated.then(() => scope.clients.claim()));
});

// A page that begins asks for it. Another tab would lose the files it has not loaded yet.
scope.addEventListener('message', (event) => {
  if (event.data !== 'take-over') return;
  event.waitUntil(takeOver(event.ports[0]));
});

/** A tab that was just closed, or what a tab showed before it was loaded again, may be counted a little longer: ms, and how often to look. */
const LINGERING = { wait: 250, looks: 5 };

async function takeOver(asking: MessagePort | undefined): Promise<void> {
  for (let look = 1; look <= LINGERING.looks; look++) {
    const all = await scope.clients.matchAll({ includeUncontrolled: true, type: 'window' });
    if (all.filter(({ url }) => url.startsWith(home)).length <= 1) return await scope.skipWaiting();
    await new Promise((resolve) => setTimeout(resolve, LINGERING.wait));
  }
  asking?.postMessage('in-use');
}

const isOutdated = (name: string): boolean => name.startsWith(PREFIX) && name !== NAME;

scope.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  const file = url.origin + url.pathname;
  const page = `${home}index.html`;
  const wanted = file === home ? page : file;
  if (event.request.method !== 'GET' || !own.has(wanted)) return;
  event.respondWith(
    caches
      .open(NAME)
      .then((cache) => cache.match(wanted))
      .then((found) => found ?? fetch(event.request)),
  );
});
