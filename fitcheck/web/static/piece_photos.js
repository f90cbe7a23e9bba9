// Photos of a pattern piece: dropped or chosen, sent one by one, and listed.
import { takeFiles } from "./take_files.js";
import { send } from "./talk.js";

const MOST = 6;
const id = document.querySelector("#incoming").dataset.piece;
const list = document.querySelector("#list");
const told = document.querySelector("#told");
const go = document.querySelector("#go");
let sending = Promise.resolve();

for (const item of list.children) show(item);
allow();

takeFiles(take);
document.querySelector("#about").addEventListener("submit", () => {
  told.textContent = "Reading the piece…";
  setTimeout(() => (go.disabled = true));
});
addEventListener("pageshow", allow);

/** @param {File[]} chosen */
function take(chosen) {
  const room = Math.max(MOST - list.children.length, 0);
  told.textContent = chosen.length > room ? `At most six photos of one piece are joined: ${room} of these ${chosen.length} are taken.` : "";
  for (const file of chosen.slice(0, room)) {
    const item = list.appendChild(document.createElement("li"));
    item.append(Object.assign(document.createElement("p"), { textContent: "Looking at it…" }));
    sending = sending.then(() => sendOne(file, item));
  }
  allow();
}

/** @param {File} file @param {HTMLLIElement} item */
async function sendOne(file, item) {
  try {
    item.dataset.photo = (await send(`/piece/${id}/photo`, file)).id;
    show(item);
  } catch (error) {
    item.remove();
    told.textContent = `“${file.name.slice(0, 60)}”: ${error.message}`;
  }
  allow();
}

/** @param {HTMLElement} item */
function show(item) {
  const image = Object.assign(document.createElement("img"), { src: `/piece/${id}/photos/${item.dataset.photo}.jpg`, alt: "Photo of the piece" });
  const away = Object.assign(document.createElement("button"), { type: "button", textContent: "Take away" });
  away.addEventListener("click", async () => {
    await send(`/piece/${id}/take-away`, new URLSearchParams({ photo: item.dataset.photo })).catch(() => {});
    item.remove();
    allow();
    document.querySelector("#files").focus();
  });
  item.replaceChildren(image, away);
}

/** It can be read as soon as every photo is there. */
function allow() {
  go.disabled = !list.children.length || [...list.children].some((item) => !item.dataset.photo);
}
