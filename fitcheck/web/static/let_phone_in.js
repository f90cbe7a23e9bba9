// "Use my phone": shows the code that lets a phone in for this fitting, and how far it is.
import { get, send } from "./talk.js";

const EVERY_MS = 1000;
const byId = (id) => document.getElementById(id);
const id = byId("incoming").dataset.fitting;
const [use, box, told, code, share, other, out] = ["use-phone", "phone", "phone-told", "phone-code", "phone-share", "phone-other", "phone-out"].map(byId);
const address = `/fitting/${id}/phone`;
let which = 0;
let timer;

use.addEventListener("click", () => letIn());
other.addEventListener("click", () => letIn(which + 1));
out.addEventListener("click", async () => shown(await send(`${address}-out`, "").catch(failed)));
get(address).then((state) => state.open && opened(state)).catch(() => {}); // it was open when this page was loaded

/** @param {number} at which of this computer's addresses */
async function letIn(at = 0) {
  which = at;
  box.hidden = false;
  use.setAttribute("aria-expanded", "true");
  told.textContent = "One moment…";
  try {
    opened(await send(address, new URLSearchParams({ which: at })));
  } catch (error) {
    failed(error);
  }
}

function opened(state) {
  box.hidden = false;
  use.setAttribute("aria-expanded", "true");
  code.src = `${address}.svg?${Date.now()}`;
  clearInterval(timer);
  timer = setInterval(look, EVERY_MS);
  shown(state);
}

async function look() {
  try {
    shown(await get(address));
  } catch {
    clearInterval(timer); // the note about a closed program stands above
  }
}

/** @param {{open: boolean, why: string, left_s: number, seen: boolean, share: number, others: number, fitting: string, photos: any[]}} state */
function shown(state) {
  if (!state) return;
  if (state.fitting !== "draft" && state.fitting !== "failed") return location.reload(); // its film is being read
  document.dispatchEvent(new CustomEvent("came", { detail: state.photos }));
  for (const part of [code, byId("phone-how"), out]) part.hidden = !state.open;
  code.hidden ||= state.seen;
  other.hidden = !state.open || state.seen || !state.others;
  share.hidden = !state.open || !state.share || state.share === 1;
  share.value = state.share || 0;
  say(state.open ? (state.seen ? "The phone is connected." : `Open for ${Math.ceil(state.left_s / 60)} more minutes.`) : state.why);
  if (state.open) return;
  clearInterval(timer);
  use.setAttribute("aria-expanded", "false");
}

function failed(error) {
  for (const part of [code, byId("phone-how"), share, other, out]) part.hidden = true;
  say(error.message);
}

function say(text) {
  if (told.textContent !== text) told.textContent = text;
}
