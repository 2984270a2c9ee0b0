// access.js: what can be found wrong with a page by looking at it as drawn. Gives
// a list of sentences; an empty one is a page with nothing found.
(() => {
  const wrong = [];
  const say = (e, what) => wrong.push(what + ": " + name(e));
  const name = (e) => { const s = e.outerHTML.replace(/\s+/g, " "); return s.length > 130 ? s.slice(0, 130) + "…" : s; };
  const drawn = (e) => { const r = e.getBoundingClientRect(), s = getComputedStyle(e); return r.width > 0 && r.height > 0 && s.visibility !== "hidden" && s.display !== "none" && !e.closest(".unseen, [hidden]") && !(e.closest("details:not([open])") && !e.closest("summary")); };

  // language, title, headings
  if (!document.documentElement.lang) wrong.push("the page has no language");
  if (!document.title.trim()) wrong.push("the page has no title");
  const heads = [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")];
  if (heads.filter((h) => h.tagName === "H1").length !== 1) wrong.push("the page has " + heads.filter((h) => h.tagName === "H1").length + " headings of the first level");
  let level = 0;
  for (const h of heads) { const n = +h.tagName[1]; if (n > level + 1) say(h, "a heading skips a level"); if (!h.textContent.trim()) say(h, "a heading is empty"); level = n; }
  if (!document.querySelector("main")) wrong.push("the page has no main part");

  // ids, and what refers to them
  const ids = new Set();
  for (const e of document.querySelectorAll("[id]")) { if (ids.has(e.id)) say(e, "an id is there twice"); ids.add(e.id); }
  for (const e of document.querySelectorAll("[aria-labelledby], [aria-describedby], label[for]")) {
    for (const id of [e.getAttribute("aria-labelledby"), e.getAttribute("aria-describedby"), e.getAttribute("for")].join(" ").split(/\s+/)) if (id && !ids.has(id)) say(e, "it refers to what is not there, " + id);
  }
  for (const a of document.querySelectorAll('a[href^="#"]')) if (a.hash.length > 1 && !ids.has(a.hash.slice(1))) say(a, "a link to nowhere");

  // names of what can be operated
  const called = (e) => {
    if (e.getAttribute("aria-label")) return e.getAttribute("aria-label").trim();
    const by = e.getAttribute("aria-labelledby");
    if (by) return by.split(/\s+/).map((id) => document.getElementById(id)?.textContent || "").join(" ").trim();
    if (e.labels && e.labels.length) return [...e.labels].map((l) => l.textContent).join(" ").trim();
    if (e.tagName === "FIGURE" && e.querySelector("figcaption")) return e.querySelector("figcaption").textContent.trim();
    if (["BUTTON", "A", "SUMMARY"].includes(e.tagName)) return e.textContent.trim();
    return (e.getAttribute("title") || "").trim();
  };
  const acts = [...document.querySelectorAll("a[href], button, summary, input:not([type=hidden]), select, textarea, [tabindex], [role=button], [role=slider]")];
  for (const e of acts) {
    if (!called(e) && !e.matches("[tabindex='-1']")) say(e, "it has no name");
    if (+e.getAttribute("tabindex") > 0) say(e, "it has an order of its own");
  }
  for (const s of document.querySelectorAll("svg")) {
    if (s.closest("[aria-hidden=true]")) continue;
    if (s.getAttribute("role") !== "img" || !(s.getAttribute("aria-label") || "").trim()) say(s, "a drawing says nothing");
  }
  for (const i of document.querySelectorAll("img")) if (!i.hasAttribute("alt")) say(i, "a picture says nothing");
  for (const t of document.querySelectorAll("table")) {
    const r = t.closest("[role=region]");
    if (!t.caption && !(r && r.getAttribute("aria-label")) && !t.getAttribute("aria-label") && !t.closest("section[aria-labelledby], section")) say(t, "a table has no name");
    for (const h of t.querySelectorAll("th")) if (!h.scope) say(h, "a table's heading heads nothing");
  }
  for (const e of document.querySelectorAll("[style], script:not([src]), style")) say(e, "something is written into the page");

  // contrast, from the styles as computed
  const rgb = (s) => { const m = s.match(/[\d.]+/g); return m ? [+m[0], +m[1], +m[2], m[3] === undefined ? 1 : +m[3]] : [0, 0, 0, 0]; };
  const over = (a, b) => [0, 1, 2].map((i) => a[i] * a[3] + b[i] * (1 - a[3])).concat(1);
  const ground = (e) => { const list = []; for (let x = e; x; x = x.parentElement) { const c = rgb(getComputedStyle(x).backgroundColor); if (c[3] > 0) { list.push(c); if (c[3] === 1) break; } } let g = [255, 255, 255, 1]; if (!list.length || list[list.length - 1][3] < 1) g = rgb(getComputedStyle(document.documentElement).backgroundColor); while (list.length) g = over(list.pop(), g); return g; };
  const light = (c) => { const f = (v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }; return 0.2126 * f(c[0]) + 0.7152 * f(c[1]) + 0.0722 * f(c[2]); };
  const contrast = (a, b) => { const x = light(a), y = light(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
  let least = 99;
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let n = texts.nextNode(); n; n = texts.nextNode()) {
    const e = n.parentElement;
    if (!n.data.trim() || !e || ["SCRIPT", "TEMPLATE", "OPTION"].includes(e.tagName) || !drawn(e)) continue;
    const s = getComputedStyle(e), svg = e.ownerSVGElement;
    const ink = rgb(svg ? s.fill : s.color), g = ground(svg ? svg.parentElement : e);
    const px = parseFloat(s.fontSize), large = px >= 24 || px >= 18.66 && +s.fontWeight >= 700;
    const c = contrast(over(ink, g), g);
    least = Math.min(least, c);
    if (c < (large ? 3 : 4.5)) say(e, "contrast " + c.toFixed(2));
  }
  for (const e of document.querySelectorAll("input:not([type=hidden]):not([type=checkbox]):not([type=radio]):not([type=range]), select, textarea")) {
    if (!drawn(e)) continue;
    const s = getComputedStyle(e), c = contrast(rgb(s.borderTopColor), ground(e.parentElement));
    if (parseFloat(s.borderTopWidth) > 0 && c < 3) say(e, "its edge has contrast " + c.toFixed(2));
  }

  // sizes of what is to be hit: 24 px at a desk; links within a line of text excepted
  const least24 = document.querySelector(".bench, #bench") ? 44 : 24;
  for (const e of acts) {
    if (!drawn(e) || e.matches("[tabindex]:not(a):not(button)")) continue;
    const box = e.matches("input[type=checkbox], input[type=radio]") && e.closest("label") || e;
    const r = box.getBoundingClientRect();
    const inText = e.tagName === "A" && getComputedStyle(e).display === "inline" && [...(e.parentElement?.childNodes || [])].some((n) => n !== e && n.textContent.trim());
    if (!inText && (r.width < 24 || r.height < (e.tagName === "A" ? 24 : least24))) say(e, "only " + Math.round(r.width) + " × " + Math.round(r.height));
  }

  // nothing moves by itself; nothing is wider than the window but what scrolls by itself
  for (const a of document.getAnimations()) if (a.effect?.getComputedTiming().iterations === Infinity) wrong.push("something moves without end");
  const wide = document.documentElement.scrollWidth - innerWidth;
  if (wide > 1) {
    const out = [...document.body.querySelectorAll("*")].find((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest("svg *, .scroll, figure, .river, [tabindex='0']"));
    wrong.push("the page is " + wide + " px wider than the window" + (out ? ": " + name(out) : ""));
  }
  return JSON.stringify({ wrong: [...new Set(wrong)], least });
})()
