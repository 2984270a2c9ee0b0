// bench.js: the bench's page. It reads keys, keeps scans, shows what the hub drew.
(async () => {
  const [{ KeyReader, listen }, { Outbox }, { Kept }, { sound }] = await Promise.all([import("/static/keys.js"), import("/static/outbox.js"), import("/static/kept.js"), import("/static/tones.js")]);
  const $ = (id) => document.getElementById(id);
  const main = $("bench"), signs = $("signs").content;
  const asked = new URLSearchParams(location.search).get("prefix");
  if (asked !== null) localStorage.setItem("packwright-prefix", asked);
  let hub = main.dataset.hub, badge = "", calling = null, drawn = null;

  // ---- What is shown ----
  // A code stays on one line: a browser breaks lines at hyphens.
  function put(id, text) {
    $(id).replaceChildren(...text.split(/(\b[A-Z]{1,4}-(?:[A-Z]{1,3}-)?[0-9]+(?:-?[A-Z0-9])?\b)/).map((part, i) => {
      if (i % 2 === 0) return part;
      const code = document.createElement("span");
      code.className = "code"; code.textContent = part;
      return code;
    }));
  }

  function say(said, outcome = said.outcome ?? "") {
    const box = $("said");
    box.className = "outcome " + outcome;
    box.hidden = !said.text;
    $("word").textContent = outcome;
    $("sign").replaceChildren(...(signs.querySelector(`[data-sign="${outcome}"]`)?.cloneNode(true).childNodes ?? []));
    put("text", said.text ?? "");
    put("next", said.next ?? "");
    clearInterval(calling);
    if (outcome === "call") calling = setInterval(() => sound("call"), 60000);
  }

  function show(state, after) {
    const moved = main.dataset.phase !== state.phase || $("about").textContent !== state.about;
    Object.assign(main.dataset, { phase: state.phase, badge: state.badge ?? "" });
    $("badge").textContent = state.badge ?? "";
    $("doing").textContent = state.doing ?? "";
    $("about").textContent = state.about;
    if (drawn !== state.stage) draw($("stage"), state.stage, moved);
    drawCards(state.cards ?? []);
    if (!after && state.hub !== hub) look(state); // the hub was away, and is another one now
    else if (after || state.phase === "count" || !state.look) $("look").hidden = true;
    hub = state.hub;
  }

  function draw(stage, html, moved) {
    const name = document.activeElement?.closest?.("#stage") ? document.activeElement.name : "";
    const kept = moved ? [] : [...stage.querySelectorAll("input")].map((x) => [x.name + (x.dataset.item ?? ""), x.value]);
    stage.innerHTML = drawn = html;
    for (const x of stage.querySelectorAll("input")) {
      const was = kept.find(([n]) => n === x.name + (x.dataset.item ?? ""));
      if (was) x.value = was[1];
    }
    const field = name ? stage.querySelector(`input[name="${name}"]`) : main.dataset.phase === "count" ? stage.querySelector("input") : null;
    field?.focus({ preventScroll: true });
  }

  function drawCards(cards) {
    const had = document.activeElement?.closest?.("#cards") ? document.activeElement.dataset.scan : "";
    const same = [...$("cards").children].map((x) => x.dataset.scan).join() === cards.map((c) => c.scan).join();
    if (same) return;
    $("cards").replaceChildren(...cards.map((c) => {
      const b = document.createElement("button");
      b.type = "button"; b.className = "card"; b.dataset.scan = c.scan; b.title = c.says; b.textContent = c.word;
      return b;
    }));
    if (had) [...$("cards").children].find((x) => x.dataset.scan === had)?.focus();
  }

  function look(state) {
    if (!state.look || state.phase === "count") return;
    $("look").textContent = state.look;
    $("look").hidden = false;
  }

  function link(n, away) {
    $("link").textContent = (away ? "hub not reached" : "hub reached") + (n > 0 || away ? ` · ${n} waiting` : "");
    main.classList.toggle("unreached", away);
    if (n > 0) say({ text: `Kept on this bench, ${n} waiting.`, next: away ? "Prep may go on; counting and sealing may not." : "" }, "waiting");
  }

  // ---- What is sent ----
  async function post(path, body, patience) {
    const r = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body), signal: AbortSignal.timeout(patience) });
    if (r.status >= 500 || r.status === 429) throw new Error(r.status);
    return r.status < 400 ? r.json() : { status: r.status, ...(await r.json().catch(() => ({}))) };
  }

  async function now() {
    const r = await fetch("/bench/state", { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(4000) });
    if (r.status === 401 || r.status === 403) { location.reload(); return null; }
    if (!r.ok) throw new Error(r.status);
    return r.json();
  }

  async function heard(entry, answer) {
    if (answer.status) { // not let in, or not to be read: it never will be
      say({ text: answer.error?.text ?? "That was not taken.", next: answer.error?.next ?? "Call the supervisor." }, "no");
      sound("no");
      if (answer.status === 401 || answer.status === 403) location.reload();
      return;
    }
    show(answer.state, true);
    say(answer.said);
    sound(answer.said.outcome);
    if (answer.said.badge) askPIN(answer.said.badge);
    await kept.add(answer.state);
  }

  // again: the hub had lost work of this bench, and was given it once more.
  async function again(whole) {
    const state = await now().catch(() => null);
    if (state) show(state, true);
    say({ text: "The hub goes on from an older copy. What was done here since was sent again.", next: whole ? "Look at what is in hand, and go on." : "Not all of it was taken: call the supervisor." }, whole ? "kept" : "call");
    sound(whole ? "kept" : "call");
  }

  const kept = new Kept({ name: "packwright-kept-" + main.dataset.station, send: (command) => post("/bench/again", { command }, 10000), again });
  const box = new Outbox({ name: "packwright-" + main.dataset.station, send: (scan, patience) => post("/bench/scan", scan, patience), heard, waiting: link });

  // Counting, sealing and loading rest on what may have changed meanwhile: never kept for later.
  const later = (code) => box.away && (["count", "seal", "load"].includes(main.dataset.phase) || /^!FINISH-CARTON(\.|$)/i.test(code));

  function scan(code) {
    if (badge && pinKey(code)) return;
    if (later(code)) {
      say({ text: "The hub is not reached.", next: "Counting, sealing and loading wait for it." }, "no");
      sound("no");
      return;
    }
    box.add(code);
  }

  // ---- Who ----
  function askPIN(of) {
    badge = of;
    const form = $("pin") ?? pinForm();
    form.hidden = false;
    $("pin-of").textContent = `PIN of ${of}`;
    $("pin-field").value = "";
    $("pin-field").focus();
  }

  function pinForm() { // somebody else's badge, while one is signed in
    const form = document.createElement("form");
    form.id = "pin"; form.className = "digits";
    form.innerHTML = '<label><span id="pin-of"></span> <input id="pin-field" type="password" inputmode="numeric" autocomplete="off" maxlength="8"></label><button>Come in</button>';
    $("stage").prepend(form);
    return form;
  }

  function pinKey(code) {
    const digit = /^#(\d)(\..)?$/.exec(code);
    if (digit) { $("pin-field").value += digit[1]; return true; }
    if (/^!ENTER(\.|$)/i.test(code) || /^!DONE(\.|$)/i.test(code)) { signIn(); return true; }
    if (/^!CANCEL(\.|$)/i.test(code)) { badge = ""; $("pin").hidden = true; return true; }
    if (/^\d{4,8}$/.test(code)) { $("pin-field").value = code; signIn(); return true; }
    return false;
  }

  async function signIn() {
    const of = badge, digits = $("pin-field").value;
    if (!/^\d{4,8}$/.test(digits)) { // no guess is spent on what is no PIN
      say({ text: "A PIN is four to eight digits.", next: "Digits, then ENTER." });
      $("pin-field").value = "";
      return;
    }
    $("pin-field").value = "";
    try {
      const answer = await post("/bench/sign-in", { badge: of, pin: digits }, 10000);
      if (answer.status) throw new Error(answer.status);
      if (answer.said.outcome === "kept") badge = "";
      if (badge) { say(answer.said); sound("no"); $("pin-field").focus(); return; }
      show(answer.state, true);
      say(answer.said); sound(answer.said.outcome);
      look(answer.state);
    } catch {
      say({ text: "The hub is not reached.", next: "Try again in a moment." }, "no");
      sound("no");
    }
  }

  // ---- Fields and buttons: they do what cards and readers do ----
  document.addEventListener("click", (e) => {
    const b = e.target.closest("[data-scan]");
    if (b) scan(b.dataset.scan);
  });
  document.addEventListener("submit", (e) => {
    e.preventDefault();
    const f = e.target, value = (x) => x.value.trim();
    if (f.contains(document.activeElement) && slow(document.activeElement)) return;
    if (f.id === "pin") { signIn(); return; }
    if (f.id === "badge-form") { const b = value(f.elements.badge); if (b) scan(b.startsWith("B-") ? b : "B-" + b); return; }
    if (f.id === "count") { count(f); return; }
    const field = f.querySelector("input");
    if (!value(field)) { field.focus(); return; }
    scan("weigh" in f.dataset ? grams(value(field)) : value(field));
    field.value = "";
  });

  // slow finds a reader's code in a field for digits: on a busy bench its keys came
  // no faster than a hand's. What a hand had typed before it stays.
  function slow(field) {
    const code = field.inputMode === "numeric" && !("code" in field.form.dataset) ? /^(\d*)([#!A-Z].+)$/i.exec(field.value.trim()) : null;
    if (!code) return false;
    field.value = code[1];
    scan(code[2]);
    return true;
  }

  function count(f) {
    const enter = "!ENTER", weight = f.querySelector("[data-weight]");
    if (weight) { if (weight.value.trim()) scan(grams(weight.value.trim())); else weight.focus(); return; }
    const fields = [...f.querySelectorAll("input")], empty = fields.find((x) => !/^\d{1,3}$/.test(x.value.trim()));
    if (empty) {
      const given = fields.includes(document.activeElement) && document.activeElement !== empty;
      empty.focus();
      if (given) return; // ENTER goes to the next line
      say({ text: "A number is missing.", next: "None at all? Enter a zero." }, "no");
      sound("no");
      return;
    }
    if (f.dataset.take) scan(f.dataset.take); // the hands were elsewhere meanwhile
    for (const x of fields) {
      if (x.dataset.item) scan(x.dataset.item);
      scan(x.value.trim());
      scan(enter);
      x.value = "";
    }
    if (fields[0].dataset.item) scan("!enter"); // written otherwise: it is no second reading of the same card
  }

  const grams = (v) => (/[a-z]$/i.test(v) ? v : v + " g");

  // ---- Begin ----
  const reader = new KeyReader({
    prefix: localStorage.getItem("packwright-prefix") ?? "",
    typing: (keys) => { $("typing").textContent = keys; },
  });
  listen(document, reader, scan);
  await kept.open();
  if (kept.list.length > 0) await now().then((state) => kept.look(state)).catch(() => {}); // before what waits
  const left = await box.open();
  if ($("look").textContent && !$("said").classList.contains("no")) $("look").hidden = main.dataset.phase !== "place";
  if (left > 0) link(left, false);
  if (main.dataset.phase === "count") $("stage").querySelector("input")?.focus();
  main.dataset.ready = "1";

  setInterval(async () => {
    if (box.busy || kept.busy || badge) return;
    try {
      const state = await now();
      if (!state || box.busy) return;
      if (box.away) { box.away = false; say({}); }
      link(0, false);
      show(state, false);
      kept.look(state);
    } catch { box.away = true; box.tell(); }
  }, 3000);
})();
