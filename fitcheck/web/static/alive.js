// Says in the page when the program behind it has been closed.

const EVERY_MS = 3000;
let missed = 0;

/** Look every few seconds, while somebody looks at the page. */
export function watch() {
  setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
}

async function look() {
  if (document.visibilityState !== "visible") return;
  try {
    await fetch("/alive");
    missed = 0;
    say("");
  } catch {
    missed += 1;
    if (missed > 1) closed();
  }
}

/** The program does not answer. */
export function closed() {
  say("fitcheck has been closed, so nothing on this page works any more. Open it again as you did before. What was recorded is in the diary.");
}

/** @param {string} text nothing hides the note */
function say(text) {
  const note = document.querySelector("#gone");
  if (note.textContent !== text) note.textContent = text;
  note.hidden = !text;
}
