// Alarms by sound and vibration, in the furnace's own rhythm: long pulses are an alarm, the more the worse.
// Browsers are silent until somebody has tapped: until then the page says so.

const BEAT_S = 0.25, PITCH_HZ = 740, LOUD = 0.5, EDGE_S = 0.012;
const WANTED = "alarms are heard"; // kept by this browser: a tap on an earlier page counts where the browser lets it

const app = document.getElementById("app");
const BURSTS = JSON.parse(app.dataset.bursts); // priority -> pulses, on_beats, off_beats, every_beats
const bar = document.getElementById("soundbar");

let call = null; // {priority, sinceMs}: what calls now; priority 0: a sign is wanted
let audio = null, gain = null, sounding = false;

// The same as supervisor/alarms/rhythm.py, from the same table; a test compares the two.
export function sounds(priority, beat) {
  if (priority === 0) return beat % 8 < 1;
  const burst = BURSTS[priority];
  if (!burst || beat < 0) return false;
  const [pulses, on, off, every] = burst;
  const at = every ? beat % every : beat;
  return Math.floor(at / (on + off)) < pulses && at % (on + off) < on;
}

// --- the voice ----------------------------------------------------------------------------------------------------

function begin() {
  audio ??= new AudioContext();
  if (!gain) {
    const voice = audio.createOscillator();
    gain = audio.createGain();
    gain.gain.value = 0;
    voice.type = "triangle";
    voice.frequency.value = PITCH_HZ;
    voice.connect(gain).connect(audio.destination);
    voice.start();
    audio.addEventListener("statechange", show);
  }
  return audio.resume();
}

async function tapped() {
  try {
    await begin();
    localStorage.setItem(WANTED, "yes");
    call ?? once();
  } catch { /* it stays off, and says so */ }
  show();
}

function once() { // one pulse, so that a person knows how loud it is
  gain.gain.setTargetAtTime(LOUD, audio.currentTime, EDGE_S);
  gain.gain.setTargetAtTime(0, audio.currentTime + 2 * BEAT_S, EDGE_S);
  navigator.vibrate?.(500);
}

function heard() {
  return audio?.state === "running";
}

function turn() {
  const now = performance.now(), beat = call ? Math.round((now - call.sinceMs) / 1000 / BEAT_S) : -1;
  const on = call !== null && sounds(call.priority, beat);
  if (on === sounding) return;
  sounding = on;
  bar.dataset.sounding = on ? "yes" : "no";
  if (heard()) gain.gain.setTargetAtTime(on ? LOUD : 0, audio.currentTime, EDGE_S);
  if (on && heard()) navigator.vibrate?.((call.priority === 0 ? 1 : BURSTS[call.priority][1]) * 1000 * BEAT_S);
}

// --- what calls ---------------------------------------------------------------------------------------------------

function take({ detail: { sound } }) {
  const was = call;
  call = sound && { priority: sound.priority, sinceMs: performance.now() - 1000 * sound.for_s };
  // A snapshot comes a little early or late: the rhythm goes on as it began while it is the same call.
  if (was && call && was.priority === call.priority && Math.abs(was.sinceMs - call.sinceMs) < 900) call = was;
  turn();
}

// --- what is said of it -------------------------------------------------------------------------------------------

function show() {
  bar.dataset.on = heard();
}

async function awake() { // after a phone slept its voice may have been taken away
  if (document.hidden || localStorage.getItem(WANTED) !== "yes") return show();
  const patience = new Promise((done) => setTimeout(done, 300));
  try {
    await Promise.race([begin(), patience]); // a browser that wants a tap first lets this wait for ever
  } catch { /* said by the bar */ }
  show();
}

if (bar) {
  bar.querySelector("button").addEventListener("click", tapped);
  document.addEventListener("furnace", take);
  document.addEventListener("visibilitychange", awake);
  addEventListener("pageshow", awake);
  setInterval(turn, 50);
  awake();
}
