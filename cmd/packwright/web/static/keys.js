// keys.js: a reader types like a keyboard; this tells its codes from hands.
//
// Outside a field every key up to Enter or Tab belongs to a code; after 1.5 s of
// silence a new one begins. Inside a field only keys less than 120 ms apart are a
// code, four or more of them, and what they typed there is undone. In a field that
// takes digits alone all from the first other sign to Enter is a code, however
// slowly it comes: on a busy machine one key in the midst may be late. A prefix,
// when the reader is set to send one, makes it certain everywhere.
//
// It knows no codes and no page: times and values are given, so a test can type.

export const silence = 1500, gap = 120, least = 4;

export class KeyReader {
  constructor({ prefix = "", typing = () => {} } = {}) {
    this.prefix = prefix; this.typing = typing;
    this.free = ""; this.last = -Infinity;         // outside a field
    this.burst = ""; this.before = ""; this.sure = false; // inside one
    this.typed = ""; this.start = ""; // all keys of a field for digits, and what it held before
  }

  // key takes one key: {key, ctrl, field, digits, value, at}. value is the field's
  // before the key; digits, that it takes nothing else. It gives {take: the page must not have this key, restore: what the
  // field is to hold, code: what was read}.
  key(k) {
    if (k.ctrl) return {};
    return k.field ? this.inside(k) : this.outside(k);
  }

  outside(k) {
    this.burst = this.typed = ""; this.sure = false;
    if (k.at - this.last > silence) this.set("");
    if (k.key === "Enter" || k.key === "Tab") {
      const code = this.strip(this.free);
      if (code === "") return {}; // nothing read: the key is the page's
      this.set("");
      return { take: true, code };
    }
    if (k.key === "Escape") { this.set(""); return {}; }
    if (k.key === "Backspace") { this.set(this.free.slice(0, -1)); return { take: true }; }
    if (k.key.length !== 1) return {};
    if (k.key === " " && this.free === "") return {}; // a button's own key
    this.last = k.at;
    this.set(this.free + k.key);
    return { take: true };
  }

  inside(k) {
    const quick = k.at - this.last < gap;
    const long = k.at - this.last > silence;
    if (k.key === "Enter" || k.key === "Tab") {
      const burst = this.burst, sure = this.sure, mixed = k.digits && !sure && /^(\d*)([#!A-Z].+)$/i.exec(this.typed);
      this.burst = this.typed = ""; this.sure = false;
      if (mixed) return { take: true, restore: this.start + mixed[1], code: this.strip(mixed[2]) };
      if (!sure && (!quick || [...burst].length < least)) return {};
      this.last = -Infinity;
      const code = this.strip(burst);
      if (code === "") return {};
      return { take: true, restore: this.before, code };
    }
    if (k.key === "Backspace") this.typed = this.typed.slice(0, -1);
    if (k.key.length !== 1) return {};
    if (this.typed === "" || long) { this.typed = ""; this.start = k.value; }
    this.typed += k.key;
    if (this.prefix !== "" && k.key === this.prefix[0] && !this.sure) {
      this.burst = k.key; this.before = k.value; this.sure = true; this.last = k.at;
      return this.prefix.length === 1 ? { take: true } : {};
    }
    if (this.sure && !long) { this.burst += k.key; this.last = k.at; return { take: true }; }
    this.sure = false;
    if (quick) this.burst += k.key;
    else { this.burst = k.key; this.before = k.value; }
    this.last = k.at;
    return {};
  }

  strip(code) {
    return this.prefix !== "" && code.startsWith(this.prefix) ? code.slice(this.prefix.length) : code;
  }

  set(free) {
    if (free !== this.free) { this.free = free; this.typing(free); }
  }
}

// listen puts a reader before a document. What a code typed into a field is undone
// before the code is told: it may be a digit for that very field.
export function listen(doc, reader, code, now = () => performance.now()) {
  let taken = false; // what follows a key that was taken must not press a button either
  const swallow = (e) => { e.preventDefault(); e.stopPropagation(); };
  doc.addEventListener("keydown", (e) => {
    const field = e.target.matches?.("input, textarea") ? e.target : null;
    const got = reader.key({ key: e.key, ctrl: e.ctrlKey || e.metaKey || (e.altKey && e.key.length !== 1), field: !!field, digits: field?.inputMode === "numeric" && !("code" in (field.form?.dataset ?? {})), value: field ? field.value : "", at: now() });
    taken = !!got.take;
    if (taken) swallow(e);
    if (got.restore !== undefined && field) field.value = got.restore;
    if (got.code !== undefined) code(got.code);
  }, true);
  doc.addEventListener("keypress", (e) => { if (taken) swallow(e); }, true);
  doc.addEventListener("keyup", () => { taken = false; }, true);
}
