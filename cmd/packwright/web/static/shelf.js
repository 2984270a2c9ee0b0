// shelf.js: a list in IndexedDB that outlives a reload, a browser and a power cut.

export class Shelf {
  // open gives the shelf of a name with one store in it. It throws where the browser
  // keeps nothing, as in a private window.
  static open(name, store) {
    return new Promise((yes, no) => {
      const ask = indexedDB.open(name, 1);
      ask.onupgradeneeded = () => ask.result.createObjectStore(store, { autoIncrement: true });
      ask.onsuccess = () => yes(new Shelf(ask.result, store));
      ask.onerror = () => no(ask.error);
    });
  }

  constructor(db, store) { Object.assign(this, { db, store }); }

  // add gives the key that the entry got.
  add(entry) { return this.act((s) => s.add({ ...entry })); }
  put(entry, key) { return this.act((s) => s.put({ ...entry }, key)); }
  remove(key) { return this.act((s) => s.delete(key)); }

  act(what) {
    return new Promise((yes, no) => {
      const t = this.db.transaction(this.store, "readwrite", { durability: "strict" });
      const got = what(t.objectStore(this.store));
      t.oncomplete = () => yes(got.result);
      t.onerror = t.onabort = () => no(t.error);
    });
  }

  // all gives every entry with its key, in the order they were added.
  all() {
    return new Promise((yes, no) => {
      const out = [];
      const walk = this.db.transaction(this.store).objectStore(this.store).openCursor();
      walk.onsuccess = () => {
        const c = walk.result;
        if (!c) { yes(out); return; }
        out.push({ ...c.value, key: c.key });
        c.continue();
      };
      walk.onerror = () => no(walk.error);
    });
  }
}
