// A new fitting: photos or a film are dropped or chosen, sent one by one, and listed with the view each seems to be.
import { takeFiles } from "./take_files.js";
import { send } from "./talk.js";

const VIEWS = ["front", "right", "back", "left"];
const SHOWS = { front: "my front", right: "my right side", back: "my back", left: "my left side" };
const MOST = 4;
const FILM = /\.(mp4|mov|m4v|webm|mkv)$/i;
const id = document.querySelector("#incoming").dataset.fitting;
const list = document.querySelector("#list");
const told = document.querySelector("#told");
const form = document.querySelector("#about");
let sending = Promise.resolve();

for (const item of list.children) show(item, item.dataset, `/fitting/${id}/photos/${item.dataset.photo}.jpg`);
tellOfViews();

takeFiles(take, filesOf);
document.addEventListener("came", ({ detail }) => listed(detail));
form.addEventListener("change", () => send(`/fitting/${id}/telling`, new URLSearchParams(new FormData(form))).catch(() => {}));

/** Files that were dropped; of a folder, those in it. @param {DataTransfer} data @returns {Promise<File[]>} */
async function filesOf(data) {
  const entries = [...data.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.some((entry) => entry.isDirectory)) return [...data.files];
  const inside = entries.filter((entry) => entry.isDirectory).map((folder) => new Promise((done) => folder.createReader().readEntries(done, () => done([]))));
  const all = [...entries, ...(await Promise.all(inside)).flat()].filter((entry) => entry.isFile);
  const photos = all.filter((entry) => FILM.test(entry.name) || /\.(jpe?g|png|webp|heic|heif)$/i.test(entry.name));
  return Promise.all(photos.map((entry) => new Promise((done, failed) => entry.file(done, failed))));
}

/** Photos that came by the phone go into the list, those that are gone out of it. @param {{id: string, view: ?string, seems: ?string, trouble: string}[]} photos */
function listed(photos) {
  const [here, there] = [[...list.children].map((item) => item.dataset.photo), photos.map((photo) => photo.id)];
  if (here.join() === there.join() || here.includes(undefined)) return; // nothing new, or one is being looked at
  for (const item of [...list.children]) if (!there.includes(item.dataset.photo)) item.remove();
  for (const photo of photos.filter((one) => !here.includes(one.id))) {
    const item = list.appendChild(document.createElement("li"));
    Object.assign(item.dataset, { photo: photo.id, view: photo.view || "", seems: photo.seems || "", trouble: photo.trouble });
    show(item, item.dataset, `/fitting/${id}/photos/${photo.id}.jpg`);
  }
  tellOfViews();
}

/** @param {File[]} files */
function take(chosen) {
  const film = chosen.find((file) => FILM.test(file.name) || file.type.startsWith("video/"));
  const files = chosen.filter((file) => file !== film);
  const room = MOST - list.children.length;
  told.textContent = files.length > room ? `A fitting has four photos at most: ${Math.max(room, 0)} of these ${files.length} are taken.` : "";
  for (const file of files.slice(0, Math.max(room, 0))) {
    const item = list.appendChild(document.createElement("li"));
    item.append(Object.assign(document.createElement("p"), { textContent: "Looking at it…" }));
    sending = sending.then(() => sendOne(file, item));
  }
  if (film) sending = sending.then(() => sendFilm(film));
}

/** A film; the page that comes shows how far its reading is. @param {File} file */
async function sendFilm(file) {
  told.textContent = "Taking the film in…";
  try {
    await send(`/fitting/${id}/film`, file);
    location.reload();
  } catch (error) {
    told.textContent = `“${file.name.slice(0, 60)}”: ${error.message}`;
  }
}

for (const button of document.querySelectorAll("[data-moment]"))
  button.addEventListener("click", async () => {
    told.textContent = "Taking this moment…";
    try {
      await send(`/fitting/${id}/moment`, new URLSearchParams({ view: document.querySelector("#for-view").value, moment: button.dataset.moment }));
      location.reload();
    } catch (error) {
      told.textContent = error.message;
    }
  });

/** @param {File} file @param {HTMLLIElement} item */
async function sendOne(file, item) {
  const named = VIEWS.find((view) => file.name.toLowerCase().replace(/\.[a-z]+$/, "") === view) || "";
  try {
    const found = await send(`/fitting/${id}/photo?named=${named}`, file);
    Object.assign(item.dataset, { photo: found.id, view: found.view || "", seems: found.seems || "", trouble: found.trouble });
    show(item, item.dataset, `/fitting/${id}/photos/${found.id}.jpg`);
    tellOfViews();
  } catch (error) {
    item.remove();
    told.textContent = `“${file.name.slice(0, 60)}”: ${error.message}`;
  }
}

/** Fill a photo's place in the list. @param {HTMLElement} item @param {DOMStringMap} photo @param {string} address */
function show(item, photo, address) {
  const image = Object.assign(document.createElement("img"), { src: address, alt: `Photo, ${photo.view || "view not known"}` });
  const label = Object.assign(document.createElement("label"), { textContent: "It shows " });
  const choice = document.createElement("select");
  for (const view of ["", ...VIEWS]) choice.add(new Option(view ? SHOWS[view] : "please say which", view, false, view === photo.view));
  label.append(choice);
  choice.addEventListener("change", async () => {
    await send(`/fitting/${id}/view`, new URLSearchParams({ photo: photo.photo, view: choice.value })).catch((error) => (told.textContent = error.message));
    photo.view = choice.value;
    tellOfViews();
  });
  const away = Object.assign(document.createElement("button"), { type: "button", textContent: "Take away" });
  away.addEventListener("click", async () => {
    await send(`/fitting/${id}/take-away`, new URLSearchParams({ photo: photo.photo })).catch(() => {});
    item.remove();
    tellOfViews();
    document.querySelector("#files").focus();
  });
  const doubts = Object.assign(document.createElement("p"), { className: "flag doubts", textContent: photo.trouble, hidden: !photo.trouble });
  const says = Object.assign(document.createElement("p"), { className: "soft", textContent: photo.says ? `Out of the film: ${photo.says}` : "", hidden: !photo.says });
  item.replaceChildren(image, says, label, doubts, away);
}

/** What is missing, or said twice. */
function tellOfViews() {
  const said = [...list.children].map((item) => item.dataset.view || "");
  const twice = VIEWS.filter((view) => said.filter((one) => one === view).length > 1);
  const missing = VIEWS.filter((view) => !said.includes(view));
  if (twice.length) told.textContent = `Two photos are said to be the ${twice.join(" and the ")} view.`;
  else if (said.includes("")) told.textContent = "Say of each photo which view it is.";
  else if (said.length && missing.length) told.textContent = `Still missing: ${missing.join(", ")}. You can also check without.`;
  else if (said.length) told.textContent = "All four views are here.";
  const again = [...list.children].filter((item) => item.dataset.trouble).map((item) => SHOWS[item.dataset.view]?.replace("my", "your") || "the photo whose view is not known");
  if (again.length) told.textContent += ` Better taken again, as told beside it: ${again.join(", ")}.`;
}
