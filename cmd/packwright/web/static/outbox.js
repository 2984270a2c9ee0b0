// outbox.js: what was scanned at this bench and is not answered yet.
//
// A scan has its number before it is first sent, and lies in IndexedDB until it is
// answered: so it outlives a reload, a browser and a hub that are killed. Scans are
// sent one after another, in their order, again and again under the same number; the
// hub takes each once. How long ago a scan was is told by this bench's own clock.

import { Shelf } from "/static/shelf.js";

const patience = 8000, slow = 300;

export class Outbox {
  // send posts one scan and gives the answer; it throws when there was none.
  // heard(entry, answer) is told every answer; waiting(n, away) whenever that changes.
  constructor({ name, send, heard, waiting, fresh = () => {} }) {
    Object.assign(this, { name, send, heard, waiting, fresh });
    this.session = [...crypto.getRandomValues(new Uint8Array(10))].map((b) => (b % 36).toString(36)).join("");
    this.n = 0; this.list = []; this.away = false; this.busy = false; this.wake = null;
  }

  async open() {
    this.shelf = await Shelf.open(this.name, "scans").catch(() => null); // a private window has none: kept in memory then
    if (this.shelf) this.list = (await this.shelf.all()).map((x) => ({ ...x, tries: 1 }));
    this.tell();
    this.run();
    return this.list.length;
  }

  // add keeps a scan and sends it as soon as those before it are answered.
  async add(raw) {
    const entry = { session: this.session, n: ++this.n, raw, at: Date.now(), offline: this.away, tries: 0 };
    this.list.push(entry);
    if (this.shelf) entry.key = await this.shelf.add(entry).catch(() => undefined);
    setTimeout(() => { if (this.list.includes(entry)) this.tell(); }, slow);
    if (this.away) this.tell();
    this.run();
  }

  // forget drops a scan that must not be sent later.
  async forget(entry) {
    this.list = this.list.filter((x) => x !== entry);
    if (this.shelf && entry.key !== undefined) await this.shelf.remove(entry.key).catch(() => {});
  }

  tell() { this.waiting(this.list.length, this.away); }

  async run() {
    if (this.busy) { this.wake?.(); return; }
    this.busy = true;
    while (this.list.length > 0) {
      const entry = this.list[0];
      try {
        if (entry.tries++ > 0) entry.offline = true; // it may have been done without the hub
        const answer = await this.send({ session: entry.session, n: entry.n, raw: entry.raw, at: new Date(entry.at).toISOString(),
          ago: Math.max(0, Date.now() - entry.at), offline: entry.offline, waiting: this.list.length - 1 }, patience);
        await this.forget(entry);
        this.away = false;
        await this.heard(entry, answer);
        this.tell();
      } catch {
        if (!this.away) { this.away = true; this.list.forEach((x) => { x.offline = true; }); }
        this.tell();
        await new Promise((go) => { this.wake = go; setTimeout(go, 1000); });
        this.wake = null;
      }
    }
    this.busy = false;
  }
}
