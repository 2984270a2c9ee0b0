// live-worker.js: one stream for all tabs of this browser. A browser holds six
// connections to one host; with a stream for each tab the seventh would hang.
"use strict";
const tabs = new Map(); // port → topic
let source = null, heard = 0, timer = 0, again = 0, wait = 500;

onconnect = (e) => {
  const port = e.ports[0];
  port.onmessage = (m) => {
    if (m.data.leave) tabs.delete(port);
    else tabs.set(port, m.data.topic);
    clearTimeout(again);
    again = setTimeout(open, 5); // several tabs may come at once
  };
  port.start();
};

function tell(message, topic) {
  for (const [port, t] of tabs) if (!topic || t === topic) port.postMessage(message);
}

// open asks anew for all topics: the cookies of now decide what is sent.
function open() {
  if (source) source.close();
  source = null;
  clearTimeout(timer);
  const topics = [...new Set(tabs.values())].sort();
  if (!topics.length) return;
  source = new EventSource("/live?" + topics.map((t) => "topic=" + encodeURIComponent(t)).join("&"));
  const mine = source;
  source.addEventListener("parts", (e) => { alive(); const d = JSON.parse(e.data); tell(d, d.topic); });
  source.addEventListener("beat", (e) => { alive(); tell({ clock: JSON.parse(e.data).clock }); });
  source.addEventListener("gone", () => { mine.close(); clearTimeout(timer); tell({ gone: true }); });
  source.onerror = () => { if (mine === source) lost(); };
  watch();
}

function alive() { wait = 500; watch(); }

// watch: a stream that says nothing for 25 seconds is dead, whatever it claims.
function watch() { clearTimeout(timer); timer = setTimeout(lost, 25000); }

function lost() {
  tell({ away: true });
  if (source) source.close();
  clearTimeout(again);
  again = setTimeout(open, wait);
  wait = Math.min(wait * 2, 5000);
}
