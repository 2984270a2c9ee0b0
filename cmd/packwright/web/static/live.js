// live.js: replaces the fragments of this page when the hub sends them again.
// One SharedWorker holds the stream for all tabs; without it this page has its own.
"use strict";
(() => {
  const topic = document.body.dataset.live;
  const drawn = new Map(); // id → what was sent last
  const held = new Map(); // id → what waits until nobody types in it
  let clock = "";

  const line = document.createElement("p");
  line.className = "away";
  line.setAttribute("role", "status");
  line.hidden = true;
  document.body.prepend(line);

  function say(text) { line.textContent = text; line.hidden = !text; }

  function take(d) {
    if (d.gone) return say("This badge is signed out here. Load the page to go on.");
    if (d.away) return say("away since " + (clock || document.getElementById("when")?.textContent || "the beginning") + " · what you see is as it was then");
    say("");
    clock = d.clock || clock;
    const y = scrollY;
    for (const p of d.parts || []) put(p.id, p.html);
    if (scrollY !== y) scrollTo({ top: y, behavior: "instant" });
    if (d.parts) document.documentElement.dataset.fresh = String(performance.timeOrigin + performance.now());
  }

  function put(id, html) {
    const old = document.getElementById(id);
    if (!old || drawn.get(id) === html) return;
    if (typing(old)) { held.set(id, html); return; }
    const t = document.createElement("template");
    t.innerHTML = html.trim();
    const fresh = t.content.firstElementChild;
    if (!fresh) return;
    drawn.set(id, html);
    if (old.isEqualNode(fresh)) return;
    const focus = old.contains(document.activeElement) ? way(old, document.activeElement) : null;
    const aside = [...old.querySelectorAll("*"), old].filter((e) => e.scrollLeft).map((e) => [way(old, e), e.scrollLeft]);
    const shut = [...old.querySelectorAll("details[open]")].map((e) => way(old, e));
    old.replaceWith(fresh);
    for (const w of shut) { const e = find(fresh, w); if (e) e.open = true; }
    for (const [w, x] of aside) { const e = find(fresh, w); if (e) e.scrollLeft = x; }
    if (focus) find(fresh, focus)?.focus({ preventScroll: true });
  }

  // typing: somebody has written into a field of it, which is not to be lost.
  function typing(e) {
    return [...e.querySelectorAll("input, textarea, select")].some((f) => f.type !== "hidden" &&
      (f === document.activeElement || (f.defaultValue !== undefined && f.value !== f.defaultValue)));
  }

  addEventListener("focusout", () => setTimeout(() => {
    const list = [...held];
    held.clear();
    for (const [id, html] of list) put(id, html);
  }));

  // way and find: an element by its id, else by its place among its kind.
  function way(root, e) {
    if (e.id) return { id: e.id };
    return { tag: e.tagName, n: e === root ? -1 : [...root.getElementsByTagName(e.tagName)].indexOf(e) };
  }
  function find(root, w) {
    if (w.id) return document.getElementById(w.id);
    return w.n < 0 ? root : root.getElementsByTagName(w.tag)[w.n];
  }

  let leave = null;
  function join() {
    if (leave) return;
    if (window.SharedWorker) {
      const worker = new SharedWorker("/static/live-worker.js", { name: "packwright live" });
      worker.port.onmessage = (e) => take(e.data);
      worker.port.postMessage({ topic });
      leave = () => { worker.port.postMessage({ leave: true }); worker.port.close(); };
      return;
    }
    const source = new EventSource("/live?topic=" + encodeURIComponent(topic));
    source.addEventListener("parts", (e) => take(JSON.parse(e.data)));
    source.addEventListener("beat", (e) => take({ clock: JSON.parse(e.data).clock }));
    source.addEventListener("gone", () => { source.close(); take({ gone: true }); });
    source.onerror = () => take({ away: true });
    leave = () => source.close();
  }

  addEventListener("pagehide", () => { if (leave) { leave(); leave = null; } });
  addEventListener("pageshow", join);
  if (document.readyState === "complete") join();
})();
