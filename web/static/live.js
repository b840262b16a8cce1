// Keeps the page alive from the stream, shows how old it is, and withdraws what an old page must not promise.

import { Age, clockS } from "./age.js";
import { listen } from "./levers.js";
import { morph } from "./morph.js";

const PALE_S = 3, OLD_S = 10, GONE_S = 30;
const SILENT_MS = 4000, POLL_MS = 2000;
const LATE_S = 5, ANEW_AFTER_MS = 10000; // a stream whose words come so late is begun anew: what still waits in it is old
const LATER_MS = 4000; // the numbers come first; without any, the rest may come

const app = document.getElementById("app");
const now = document.getElementById("now");
const { stream } = window;
const { page, id } = stream;
const rule = document.getElementById("rule");
const figure = document.getElementById("strip");

const parts = new Map(); // region name -> newest HTML: what the page came with, until the stream says something else
for (const place of document.querySelectorAll("[data-region]")) parts.set(place.dataset.region, place.innerHTML);
let lastId = id; // of the last event: what happened since is told to one that comes back
let knownId = lastId; // of the last event that was shown in time: what came while the page was old counts as missed
let polling = 0, connectedS = 0;
let heardAt = performance.now(); // anything at all came
const age = new Age();
let spokeAt = ""; // the hour of the furnace's newest word
let strip = null, rest = null; // promises, once their scripts were asked for
let tone = now?.dataset.tone;
let stale = app.dataset.stale;
let epoch = 0;

// --- what comes -------------------------------------------------------------------------------------------------

function took(news) {
  const wasOld = stale === "old" || stale === "gone";
  if (news.id) lastId = news.id;
  word(news);
  if (age.s <= OLD_S) {
    if (wasOld) catchUp(knownId);
    knownId = lastId;
  }
  tick();
  for (const [name, html] of Object.entries(news.regions)) parts.set(name, html);
  stale = "";
  if (wasOld) redraw();
  else regions(news.regions);
  tone = news.tone;
  outlived(news.epoch);
  if (now) {
    now.dataset.tone = tone;
    now.classList.toggle("hasacts", news.alarms);
  }
  document.dispatchEvent(new CustomEvent("furnace", { detail: news }));
  showAge();
  later().then(drawStrip).then((drawn) => drawn?.append(news.point));
}

function word({ age_s, sent_s, at }, askedS = connectedS) {
  heardAt = performance.now();
  age.came(age_s, sent_s, askedS);
  spokeAt = at ?? spokeAt;
}

// Chart, sound and a screen that stays on come after the first number is painted, never before it.
function later() {
  rest ??= new Promise((done) => requestAnimationFrame(() => setTimeout(done))).then(() => {
    drawStrip();
    import("./sound.js");
    if (document.getElementById("awake")) import("./awake.js");
  });
  return rest;
}

function drawStrip() {
  strip ??= figure // its scripts at once: on a slow link one after the other takes twice as long
    ? Promise.all([import("./strip.js"), import("./metal.js"), import("./wall.js")])
      .then(([{ Strip }]) => new Strip(figure, document.getElementById("minute")))
    : Promise.resolve(null);
  return strip;
}

// What the page was answered when it opened goes once the furnace has changed since, or was begun anew.
function outlived(newest) {
  const answer = document.querySelector(".answer[data-epoch]");
  if (answer && (newest > answer.dataset.epoch || newest < epoch)) answer.hidden = true;
  epoch = newest;
}

function redraw() {
  regions(Object.fromEntries(parts));
}

// Only what changed is touched: a slow phone has better things to do once a second.
function regions(changed) {
  for (const place of document.querySelectorAll("[data-region]")) {
    const html = changed[place.dataset.region];
    if (html !== undefined) morph(place, html);
  }
  if ("head" in changed) fit();
}

// The key of the headline is as large as it can be, and never wider than its column, whatever the font.
function fit() {
  const key = document.querySelector(".head .key");
  if (!key) return;
  key.style.fontSize = "";
  const room = key.parentElement.clientWidth, wide = key.scrollWidth;
  if (wide > room) key.style.fontSize = `${Math.floor((parseFloat(getComputedStyle(key).fontSize) * room) / wide) - 1}px`;
}

function missed({ happened }) {
  heardAt = performance.now();
  const place = document.getElementById("away");
  if (!place || !happened.length) return;
  const list = document.createElement("ul");
  list.className = "rows";
  for (const [at, sentence] of happened.slice(-12)) {
    const row = document.createElement("li"), when = document.createElement("b"), what = document.createElement("span");
    when.textContent = at;
    what.textContent = sentence;
    row.append(when, what);
    list.append(row);
  }
  const head = document.createElement("h2"), seen = document.createElement("button");
  head.textContent = "While you were away";
  seen.className = "lever";
  seen.textContent = "Seen";
  seen.addEventListener("click", () => { place.hidden = true; });
  place.className = "block";
  place.replaceChildren(head, list, seen);
  place.hidden = false;
}

// --- the stream ---------------------------------------------------------------------------------------------------

const HEARS = {
  live: took,
  age: (said) => word(said),
  away: missed,
  full() {
    stream.end();
    polling ||= setInterval(poll, POLL_MS);
    poll();
  },
};

function connect() {
  stream.begin(lastId);
  connected();
}

function connected() {
  heardAt = performance.now();
  connectedS = clockS() - (heardAt - stream.since()) / 1000;
  age.ask(1); // unless the page's own word made it ask just now
}

async function poll() {
  const askedS = clockS();
  try {
    const answer = await fetch(`/live.json?page=${page}&after=${lastId}`, { signal: AbortSignal.timeout(3000) });
    const said = await answer.json();
    if (said.away) missed(said.away);
    if (said.live && said.live.id !== lastId) took(said.live);
    else word(said, askedS);
  } catch { /* the age grows, and says it */ }
}

// A page that grew old over an open stream is not told what it missed, as one that connects anew is: it asks.
async function catchUp(after) {
  try {
    const answer = await fetch(`/live.json?page=other&after=${after}`, { signal: AbortSignal.timeout(3000) });
    const { away } = await answer.json();
    if (away) missed(away);
  } catch { /* what stands now is shown all the same, and the log has the rest */ }
}

function leave() {
  stream.end();
  clearInterval(polling);
  polling = 0;
}

document.addEventListener("visibilitychange", () => (document.hidden ? leave() : connect()));
addEventListener("pagehide", leave);

setInterval(() => {
  const at = performance.now();
  const late = age.lateS() > LATE_S && at - stream.since() > ANEW_AFTER_MS;
  if (!document.hidden && stream.since() !== null && (at - heardAt > SILENT_MS || late)) connect();
  if (!document.hidden) age.ask();
  showAge();
}, 250);

// --- age ----------------------------------------------------------------------------------------------------------

function showAge() {
  const s = age.s;
  if (s === Infinity) return; // the server's own words stand until the furnace has spoken
  document.getElementById("age").textContent = s > 5999 ? "very old" : `${Math.floor(s)} s old`;
  const was = stale;
  stale = s > GONE_S ? "gone" : s > OLD_S ? "old" : s > PALE_S ? "pale" : "";
  if (app.dataset.stale !== stale) app.dataset.stale = stale;
  if (stale === "old" || stale === "gone") old(s, was);
  sweep();
}

function old(s, was) {
  const place = document.querySelector("[data-region=head]");
  if (place && was !== "old" && was !== "gone") {
    now.dataset.tone = "blind";
    morph(place, document.getElementById("old-head").innerHTML);
    place.querySelector("[data-at]").textContent = spokeAt;
    fit();
  }
  const since = place?.querySelector("[data-old-for]");
  if (since) since.textContent = `${Math.floor(s)} s ago.`;
  const promise = document.querySelector(".stop small");
  if (promise) promise.textContent = "repeats until answered"; // nobody can promise that it is off at once
  for (const button of document.querySelectorAll("form.command:not([action='/lower']) button")) button.disabled = true;
  if (stale === "gone" && was !== "gone") {
    for (const figure of document.querySelectorAll(".fig dd b:not(.said)")) {
      const small = figure.nextElementSibling;
      small.textContent = `was ${figure.textContent.trim()}`;
      figure.textContent = "– –";
    }
  }
}

// --- the rule: one graduation for each second in which the furnace spoke --------------------------------------------

const ticks = Array.from({ length: 60 }, (_, i) => {
  const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
  const x = 2 + i * 5.93;
  const values = { x1: x, x2: x, y1: 0, y2: i % 10 === 0 ? 14 : i % 5 === 0 ? 10 : 6, "vector-effect": "non-scaling-stroke" };
  for (const [name, value] of Object.entries(values)) line.setAttribute(name, value);
  line.classList.add("miss");
  rule.append(line);
  return { line, at: -Infinity };
});

function tick() {
  const tick = ticks[Math.floor(performance.now() / 1000) % 60];
  for (const { line } of ticks) line.classList.remove("newest");
  tick.at = performance.now();
  tick.line.classList.add("newest");
}

function sweep() {
  const t = performance.now();
  for (const { line, at } of ticks) line.classList.toggle("miss", t - at > 59000);
}

// The page itself is the first word: as old as it was when it was drawn, and since this phone asked for it.
const drawn = app.dataset;
if (drawn.age) word({ age_s: Number(drawn.age), sent_s: Number(drawn.sent), at: drawn.at }, clockS() - performance.now() / 1000);
listen({ old: () => stale === "old" || stale === "gone", redraw, serverS: () => age.serverS });
connected();
stream.heard((kind, said) => HEARS[kind](said));
fit();
addEventListener("resize", fit);
if (figure?.dataset.firing) later();
else setTimeout(later, LATER_MS);
