import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Served } from './serve-folder.js';

/** Serves one text under every path, on a free port of this machine. */
export async function serveText(text: string, type: string): Promise<Served> {
  const server = createServer((_, response) => {
    response.writeHead(200, { 'content-type': type });
    response.end(text);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}/`,
    close: () =>
      new Promise((resolve) => {
        server.closeAllConnections();
        server.close(() => resolve());
      }),
  };
}
