// What a lever sends and what it shows: sent, accepted, refused, unknown. Stop is sent again until heat is proved off.

const PATIENCE_MS = 5000, SHOWN_MS = { accepted: 4000, refused: 12000, unknown: 20000 };
const SECOND_TAP_MS = 600; // a tap so soon after the answer was meant for the first one
const STOP_EVERY_MS = 1000, UNCONFIRMED_MS = 6000, GIVE_UP_MS = 300000;
const WORD = { accepted: "Done", refused: "Not done", unknown: "No answer" };

let page = { old: () => false, redraw: () => {}, serverS: () => null };
let off = null; // what the stream last said of heat being off
let stopping = 0;
const busy = new WeakSet(); // forms that wait for their answer, or had it just now: whatever is drawn anew meanwhile

export function listen(with_) {
  page = with_;
  document.addEventListener("furnace", ({ detail }) => { off = detail.off; });
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.matches(".stopform")) {
      e.preventDefault();
      stop();
    } else if (form.matches(".command")) {
      e.preventDefault();
      if (!busy.has(form)) ask(form, e.submitter ?? form.querySelector("button"));
    }
  });
}

async function send(path, body, patienceMs) {
  const headers = { Accept: "application/json" }, askedS = page.serverS();
  if (askedS !== null) headers["Asked-S"] = askedS.toFixed(3); // a tap that waited on its way for long is not done any more
  const answer = await fetch(path, { method: "POST", body, headers, signal: AbortSignal.timeout(patienceMs) });
  return answer.json();
}

async function ask(form, button) {
  if (page.old() && form.getAttribute("action") !== "/lower") return;
  const before = button.innerHTML, body = new URLSearchParams(new FormData(form)), began = performance.now();
  form.dataset.own = "";
  busy.add(form);
  form.dataset.began = began;
  const show = (kind, words, more) => {
    button.dataset.answer = kind;
    const small = document.createElement("small");
    small.textContent = more;
    button.replaceChildren(words, small);
  };
  const verb = button.firstChild.textContent;
  const count = () => show("sent", `Asking: ${verb}`, `${((performance.now() - began) / 1000).toFixed(1)} s`);
  count();
  const counting = setInterval(count, 100);
  let said;
  try {
    said = await send(form.getAttribute("action"), body, PATIENCE_MS + 1000);
  } catch {
    said = { answer: "unknown", sentence: "Not known whether it was done. Look at the furnace." };
  }
  clearInterval(counting);
  setTimeout(() => busy.delete(form), SECOND_TAP_MS);
  const place = document.getElementById(form.dataset.says ?? "");
  if (place) { // what it answered may be gone in a moment: its place says what became of it, and the form goes on
    place.textContent = `${WORD[said.answer] ?? "Not done"}. ${said.sentence}`;
    place.dataset.answer = said.answer;
    place.hidden = false;
    button.innerHTML = before;
    delete button.dataset.answer;
    delete form.dataset.own;
    page.redraw();
    setTimeout(() => { place.hidden = true; }, SHOWN_MS[said.answer] ?? SHOWN_MS.refused);
    return;
  }
  show(said.answer, WORD[said.answer] ?? "Not done", said.sentence);
  if (said.answer === "accepted" && form.matches(".entry")) form.reset();
  if (said.answer === "accepted" && form.dataset.then) setTimeout(() => goTo(form.dataset.then), 1200);
  setTimeout(() => {
    if (form.dataset.began !== String(began)) return; // asked again meanwhile
    delete button.dataset.answer;
    button.innerHTML = before;
    delete form.dataset.own;
    page.redraw();
  }, SHOWN_MS[said.answer] ?? SHOWN_MS.refused);
}

// A form without script would open the page anew, at its top: a list that goes away must not leave the person elsewhere.
function goTo(id) {
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  document.getElementById(id)?.scrollIntoView({ block: "start", behavior: still ? "auto" : "smooth" });
}

function stop() {
  stopping = performance.now();
  say("Asking to stop.", "sent");
  again(stopping);
}

async function again(mine) {
  if (mine !== stopping) return; // a later tap goes on with it
  let said = null;
  try {
    said = await send("/stop", null, PATIENCE_MS);
  } catch { /* asked again below */ }
  if (mine !== stopping) return;
  const since = performance.now() - mine;
  if (said?.off === "proved" && said.answer !== "unknown") {
    say("Off, proved.", "accepted");
    setTimeout(() => stopping || quiet(), SHOWN_MS.refused);
    stopping = 0;
    return;
  }
  if (since > UNCONFIRMED_MS || said?.answer === "unknown" || !said) {
    say("Not confirmed: switch off at the furnace. It is asked again and again.", "unknown");
  } else {
    say("Stop was taken; off is not proved yet.", "sent");
  }
  if (since < GIVE_UP_MS) setTimeout(() => again(mine), STOP_EVERY_MS);
}

function quiet() {
  const place = document.getElementById("stopsaid");
  if (place) place.hidden = true;
}

function say(sentence, kind) {
  const place = document.getElementById("stopsaid");
  if (!place) return;
  place.hidden = false;
  place.dataset.own = "";
  place.dataset.answer = kind;
  if (place.textContent !== sentence) place.textContent = sentence;
}
