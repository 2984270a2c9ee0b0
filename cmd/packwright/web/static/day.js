// day.js: the slider of the day. Arrows go from event to event, with Shift by a
// minute; what is drawn comes from the hub, the newest question alone.
"use strict";
(() => {
  const t = document.getElementById("t");
  const when = document.getElementById("when");
  const known = new Map(); // step → answer
  let stops = [], step = Number(t.dataset.step), asked = null, wanted = step;
  t.hidden = false;

  // What is pressed before the stops are here waits for them.
  const ready = fetch("/day/steps?day=" + t.dataset.day).then((r) => r.json()).then((list) => { stops = list; });

  // Where the drawing is wider than the screen the names of its rows stay, and
  // follow keeps the hand in sight.
  const figure = document.querySelector(".rhythm");
  figure?.addEventListener("scroll", () => {
    for (const name of figure.querySelectorAll("text.name")) name.setAttribute("x", figure.scrollLeft);
  });
  function follow(x) {
    if (figure && figure.scrollWidth > figure.clientWidth) figure.scrollLeft = x - figure.clientWidth * .7;
  }
  follow(Number(document.getElementById("veil")?.getAttribute("x") ?? 0));

  function show(d) {
    follow(d.veil);
    document.getElementById("veil").setAttribute("x", d.veil);
    document.getElementById("hand").setAttribute("transform", "translate(" + d.veil + " 0)");
    for (const p of d.parts) {
      const box = document.createElement("template");
      box.innerHTML = p.html.trim();
      document.getElementById(p.id)?.replaceWith(box.content.firstElementChild);
    }
    when.textContent = d.clock;
    document.querySelector("input[name=at]").value = d.clock;
    t.setAttribute("aria-valuetext", d.clock + ", " + d.says);
    history.replaceState(null, "", "/day?day=" + t.dataset.day + "&step=" + d.step);
    document.documentElement.dataset.step = d.step;
  }

  // go asks for a step; while an answer is on its way only the last wish is kept.
  async function go(i) {
    wanted = step = i;
    if (asked !== null) return;
    while (asked !== wanted) {
      asked = wanted;
      try {
        if (!known.has(asked)) {
          const r = await fetch("/day/board?day=" + t.dataset.day + "&step=" + asked);
          if (!r.ok) throw new Error(String(r.status));
          if (known.size > 200) known.clear();
          known.set(asked, await r.json());
        }
        show(known.get(asked));
      } catch {
        t.setAttribute("aria-valuetext", "the hub does not answer; move again");
        break;
      }
    }
    asked = null;
  }

  // last gives the last stop that is not after a second of the day.
  function last(second) {
    let lo = 0, hi = stops.length;
    while (lo < hi) { const m = (lo + hi) >> 1; if (stops[m].t <= second) lo = m + 1; else hi = m; }
    return Math.max(lo - 1, 0);
  }

  t.addEventListener("input", () => ready.then(() => go(last(Number(t.value)))));
  t.addEventListener("keydown", (e) => {
    const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[e.key];
    if (!way) return;
    e.preventDefault();
    ready.then(() => move(way, e.shiftKey));
  });

  function move(way, minute) {
    let i = step + way;
    if (minute) {
      i = last(stops[step].t + way * 60);
      if (i === step) i += way;
    }
    i = Math.min(Math.max(i, 0), stops.length - 1);
    t.value = stops[i].t;
    go(i);
  }
})();
