// A photograph, drawn anew at 1600 points before it is sent: what else the camera wrote into it (place, time, owner)
// stays on the phone, and a card does not fill with twelve megapixels. Without script nothing is offered.

const MOST_POINTS = 1600, MOST_BYTES = 235_000, QUALITIES = [0.85, 0.75, 0.65, 0.55, 0.45, 0.35, 0.25];

async function drawn(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const by = Math.min(1, MOST_POINTS / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * by));
  canvas.height = Math.max(1, Math.round(picture.height * by));
  const ink = canvas.getContext("2d");
  ink.fillStyle = "#fff"; // what is transparent becomes paper, not black
  ink.fillRect(0, 0, canvas.width, canvas.height);
  ink.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  for (const quality of QUALITIES) {
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
    if (blob && blob.size <= MOST_BYTES) return blob;
  }
  throw new Error("too large");
}

function say(place, kind, word, sentence) {
  const bold = document.createElement("b");
  bold.textContent = word;
  place.dataset.answer = kind;
  place.replaceChildren(bold, ` ${sentence}`);
  place.hidden = false;
}

async function send(input, place) {
  const file = input.files[0];
  if (!file) return;
  say(place, "sent", "Drawing it anew.", "Then it is sent.");
  let body;
  try {
    body = await drawn(file);
  } catch {
    say(place, "refused", "Not done.", "This file is no picture that this phone can read.");
    return;
  }
  try {
    const answer = await fetch(input.dataset.to, {
      method: "POST",
      body,
      headers: { Accept: "application/json", "Content-Type": "image/jpeg" },
      signal: AbortSignal.timeout(60_000),
    });
    const told = await answer.json();
    say(place, told.answer, told.word ?? "Not done.", told.sentence);
    if (told.answer === "accepted") location.reload();
  } catch {
    say(place, "unknown", "No answer.", "Whether it is kept is not known: show the page again.");
  }
}

for (const input of document.querySelectorAll("input[data-to]")) {
  const place = document.getElementById(input.dataset.says);
  input.closest("[hidden]").hidden = false;
  input.addEventListener("change", () => send(input, place).finally(() => { input.value = ""; }));
}
