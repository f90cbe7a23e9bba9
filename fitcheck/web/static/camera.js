// The computer's camera: looks several times a second, says what to do, counts, and takes each view when all is well.
import { send } from "./talk.js";
import { beep, hush, say, words } from "./voice.js";

const LOOK_PX = 1280; // of the long side of the small pictures
const EVERY_MS = 200; // at least, between two looks
const GOOD_LOOKS = 2; // one after the other, before the count begins
const SWAY = 0.012; // of the picture's height, between two looks: more is no standing still
const SAY_AGAIN_MS = 6000;
const OPPOSITE = { front: "back", back: "front" }; // which may be mistaken for each other
const UNHEARD_MS = 8000; // standing still so long though told to turn round: she has turned, and the back of her head passes for a face
const STEPS = 0.05; // of the picture's height, between two looks: more is a step or a turn
const [LEFT_SHOULDER, RIGHT_SHOULDER] = [1, 2]; // in what a look tells of where she is
const STEP_MS = 1000; // of the count
const AFTER_MS = 3500; // what was taken is said before the next view is asked for
const [UP, HIGH, LOW] = [660, 990, 330]; // of beeps, hertz
const byId = (id) => document.getElementById(id);
const box = byId("camera");
const video = byId("seen");
const { fitting, fewest } = box.dataset;
const views = box.dataset.views.split(" ").filter(Boolean);
const canvas = document.createElement("canvas");
let last = { name: "", at: 0 };
let before = [];
let faced = null; // the last of front and back that was taken, how broad her shoulders were, and whether she has been seen sideways since
let since = 0; // when she began to stand still though told to turn

byId("begin").addEventListener("click", begin);
byId("begin").disabled = false; // a click before anybody listens would be lost
byId("aloud").addEventListener("change", () => byId("aloud").checked || hush());

async function begin() {
  byId("begin").disabled = true;
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { width: { ideal: 3840 }, height: { ideal: 2160 } } });
  } catch (error) {
    const why = { NotAllowedError: "The browser was told not to give it. Allow the camera beside the address, and try again.", NotFoundError: "No camera was found. Use your phone, or photos." };
    byId("wanted").textContent = `${words("no_camera")} ${why[error.name] || "Another program may be using it. Close that, and try again."}`;
    byId("begin").disabled = false;
    return;
  }
  video.srcObject = stream;
  await video.play();
  window.addEventListener("pagehide", () => stream.getTracks().forEach((track) => track.stop()));
  const lines = Math.min(video.videoWidth, video.videoHeight);
  const films = lines < Number(fewest); // the phone films, this camera only watches
  byId("lines").textContent = lines;
  byId("few").hidden = !films;
  byId("before").hidden = true;
  box.querySelector(".mirror").hidden = false;
  byId("during").hidden = false;
  for (const view of views) {
    mark(view, "now");
    await taken(view, films);
    mark(view, "over");
  }
  await tell(films ? "filmed" : "done", true);
  stream.getTracks().forEach((track) => track.stop());
  await pause(AFTER_MS);
  location.href = `/fitting/${fitting}`;
}

/** One view, tried until it is good. */
async function taken(view, films) {
  for (since = 0; ; ) {
    await allWell(view);
    if (!(await counted(view))) continue;
    if (!films && !(await kept(view))) {
      await tell("again", true);
      continue;
    }
    if (OPPOSITE[view]) faced = { view, broad: shoulders(), sideways: false };
    await tell(films ? "good" : "taken", true);
    return pause(films ? AFTER_MS : AFTER_MS / 2);
  }
}

/** How broad her shoulders are in the picture, as a share of its height. @returns {number} */
function shoulders() {
  return before.length ? Math.abs(before[LEFT_SHOULDER][0] - before[RIGHT_SHOULDER][0]) : Infinity;
}

/** Whether she has turned round since the opposite view was taken, though the picture seems to say that she has not. @returns {boolean} */
function turned(view) {
  return Boolean(OPPOSITE[view] && faced?.view === OPPOSITE[view] && faced.sideways && since && Date.now() - since > UNHEARD_MS);
}

/** Look until nothing is wanted. */
async function allWell(view) {
  for (let good = 0; good < GOOD_LOOKS; ) {
    const wants = await look(view);
    good = wants ? 0 : good + 1;
    if (wants) tell(wants);
  }
}

/** Hold still, three, two, one; looked at meanwhile. @returns {Promise<boolean>} whether all stayed well */
async function counted(view) {
  for (const name of ["hold", "three", "two", "one"]) {
    byId("count").textContent = { three: "3", two: "2", one: "1" }[name] || "";
    tell(name, true);
    beep(name === "one" ? HIGH : UP);
    const ends = Date.now() + STEP_MS;
    while (Date.now() < ends) {
      const wants = await look(view);
      if (!wants) continue;
      byId("count").textContent = "";
      beep(LOW);
      tell(wants, true);
      return false;
    }
  }
  byId("count").textContent = "";
  return true;
}

/** Keep the picture that the camera shows now, and have it looked at. */
async function kept(view) {
  beep(HIGH, 0.4);
  try {
    const found = await send(`/fitting/${fitting}/photo?named=${view}`, await picture(Infinity, 0.96));
    if (!found.trouble && ([view, null].includes(found.seems) || (turned(view) && found.seems === OPPOSITE[view]))) {
      if (found.view !== view) await send(`/fitting/${fitting}/view`, new URLSearchParams({ photo: found.id, view }));
      return true;
    }
    await send(`/fitting/${fitting}/take-away`, new URLSearchParams({ photo: found.id }));
  } catch (error) {
    byId("wanted").textContent = error.message;
    await pause(AFTER_MS);
  }
  return false;
}

/** One look. @returns {Promise<string>} what is wanted; "" when all is well */
async function look(view) {
  const began = Date.now();
  let seen;
  try {
    seen = await send(`/fitting/${fitting}/live?view=${view}${turned(view) ? "&turned=yes" : ""}`, await picture(LOOK_PX, 0.8));
  } catch (error) {
    byId("wanted").textContent = error.message;
    await pause(AFTER_MS);
    return "still";
  }
  const moved = Math.max(0, ...seen.where.map(([x, y], i) => (before[i] ? Math.hypot(x - before[i][0], y - before[i][1]) : 0)));
  before = seen.where;
  if (faced && shoulders() < faced.broad / 2) faced.sideways = true;
  if (moved > STEPS) since = 0;
  else if (seen.wants === `turn_${view}`) since ||= Date.now();
  box.dataset.looks = Number(box.dataset.looks || 0) + 1;
  await pause(Math.max(0, EVERY_MS - (Date.now() - began)));
  return seen.wants || (moved > SWAY ? "still" : "");
}

/** What the camera shows, as JPEG, no longer than so many pixels. @returns {Promise<Blob>} */
function picture(longest, quality) {
  const by = Math.min(1, longest / Math.max(video.videoWidth, video.videoHeight));
  canvas.width = Math.round(video.videoWidth * by);
  canvas.height = Math.round(video.videoHeight * by);
  canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
}

/** In large print, and aloud; the same again only after a while. @param {string} name @param {boolean} [at_once] */
async function tell(name, at_once = false) {
  const now = Date.now();
  if (!at_once && name === last.name && now - last.at < SAY_AGAIN_MS) return;
  last = { name, at: now };
  byId("wanted").textContent = words(name);
  if (byId("aloud").checked) await say(name);
}

function mark(view, state) {
  const item = box.querySelector(`[data-view=${view}]`);
  item.classList.remove("now");
  item.classList.add(state);
}

function pause(ms) {
  return new Promise((done) => setTimeout(done, ms));
}
