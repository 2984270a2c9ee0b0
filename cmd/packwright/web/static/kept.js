// kept.js: what was answered at this bench, for the case that the hub loses it.
//
// A hub whose log was put back from an older copy says so by the name of its era, and
// lacks what it had answered since. What a scan came to lies here, as the hub told it,
// until a verified backup has it; then, or after so many or so long, it is dropped. When
// the era is another one it is sent once more as it is, under its own id, while the
// badge whose work it was is signed in: a hub that has it says already.

import { Shelf } from "/static/shelf.js";

const most = 500, longest = 14 * 24 * 3600 * 1000;

export class Kept {
  // send gives one command once more and tells the outcome; it throws when the hub was
  // not reached. again(whole) is told when something was lost: whole, or not all taken.
  constructor({ name, send, again }) { Object.assign(this, { name, send, again, list: [], busy: false }); }

  async open() {
    this.shelf = await Shelf.open(this.name, "answered").catch(() => null); // a private window has none: nothing is kept then
    if (this.shelf) this.list = await this.shelf.all().catch(() => []);
  }

  // add keeps what a scan came to.
  async add({ badge, lasting }) {
    for (const command of lasting?.keep ?? []) {
      const entry = { command, badge, era: lasting.era, at: Date.parse(lasting.now), since: Date.now() };
      if (!this.shelf) return;
      entry.key = await this.shelf.add(entry).catch(() => undefined);
      this.list.push(entry);
    }
    await this.drop(this.list.slice(0, Math.max(0, this.list.length - most)));
  }

  // look drops what is safe, and sends again what an earlier era answered.
  async look({ badge, lasting }) {
    if (!lasting || this.busy) return;
    this.busy = true;
    try {
      const safe = lasting.safe ? Date.parse(lasting.safe) : 0;
      await this.drop(this.list.filter((x) => Date.now() - x.since > longest || (x.era === lasting.era && x.at < safe)));
      await this.repeat(this.list.filter((x) => x.era !== lasting.era && x.badge === badge), lasting);
    } catch { /* not reached: with the next look */ } finally { this.busy = false; }
  }

  async repeat(list, lasting) {
    let lost = false, whole = true;
    try {
      for (const x of list) {
        const { outcome } = await this.send(x.command);
        lost ||= outcome !== "already";
        whole &&= outcome === "kept" || outcome === "already";
        Object.assign(x, { era: lasting.era, at: Date.parse(lasting.now) });
        if (outcome === "kept" || outcome === "already") await this.shelf.put(x, x.key).catch(() => {});
        else await this.drop([x]); // it is the supervisor's now
      }
    } finally { if (lost) this.again(whole); }
  }

  async drop(list) {
    if (list.length === 0) return;
    this.list = this.list.filter((x) => !list.includes(x));
    for (const x of list) if (x.key !== undefined) await this.shelf.remove(x.key).catch(() => {});
  }
}
