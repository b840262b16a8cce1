// Keeps the screen on where the browser lets a page do so, and says plainly where it does not.

const place = document.getElementById("awake");
let lock = null;

async function stay() {
  if (document.hidden || lock) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { lock = null; say(); });
  } catch { /* refused: low battery, or no tap yet */ }
  say();
}

function say() {
  if (!place) return;
  place.textContent = lock ? "The screen stays on." : "wakeLock" in navigator
    ? "The screen may sleep: tap once to keep it on."
    : "The screen may sleep: over plain http a page cannot keep it on. Set the phone to stay on.";
}

if ("wakeLock" in navigator) {
  document.addEventListener("visibilitychange", stay);
  document.addEventListener("click", stay);
  stay();
}
say();
