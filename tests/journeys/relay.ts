// A server in front of the app's own, that can go away for good or have a newer version.
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';

export class Relay {
  readonly origin: string;
  readonly #server: Server;
  #news = '';

  private constructor(server: Server) {
    this.#server = server;
    this.origin = `http://localhost:${(server.address() as AddressInfo).port}`;
  }

  static async to(address: string): Promise<Relay> {
    let relay: Relay;
    const server = createServer(async ({ url = '/' }, answer) => {
      const { status, headers, body } = await fetch(new URL(url, address));
      answer.writeHead(status, { 'content-type': headers.get('content-type') ?? 'text/plain' });
      for await (const chunk of body ?? []) answer.write(chunk);
      answer.end(url.endsWith('/sw.js') ? relay.#news : '');
    });
    await new Promise<void>((listening) => server.listen(0, 'localhost', listening));
    relay = new Relay(server);
    return relay;
  }

  /** A browser takes an app for newer where its service worker differs by a byte. */
  renew(): void {
    this.#news = '// newer';
  }

  async close(): Promise<void> {
    this.#server.closeAllConnections();
    await new Promise((closed) => this.#server.close(closed));
  }
}
