// tones.js: the four answers for ears and hands. They differ in contour, not in
// loudness, and none is the only carrier.

const tones = { // [Hz, from ms, for ms]
  kept: [[660, 0, 90], [880, 100, 90]],
  already: [[880, 0, 80], [880, 140, 80]],
  no: [[165, 0, 260]],
  call: [[440, 0, 120], [880, 140, 120], [440, 280, 160]],
};
const touch = { no: [200], call: [120, 80, 120] };

let audio = null;

// sound plays an outcome. Browsers stay silent until the page has had a key or a
// finger; the first scan is one.
export function sound(outcome) {
  if (navigator.vibrate && touch[outcome]) navigator.vibrate(touch[outcome]);
  if (!tones[outcome] || !window.AudioContext) return;
  try {
    audio ??= new AudioContext();
    if (audio.state === "suspended") audio.resume();
    for (const [hz, from, long] of tones[outcome]) note(hz, audio.currentTime + from / 1000, long / 1000);
  } catch { /* no sound here: sign and word stand */ }
}

function note(hz, at, long) {
  const o = audio.createOscillator(), g = audio.createGain();
  o.frequency.value = hz; o.type = hz < 300 ? "sawtooth" : "sine";
  g.gain.setValueAtTime(0, at);
  g.gain.linearRampToValueAtTime(0.35, at + 0.012);
  g.gain.setValueAtTime(0.35, at + long - 0.02);
  g.gain.linearRampToValueAtTime(0, at + long);
  o.connect(g).connect(audio.destination);
  o.start(at); o.stop(at + long);
}
