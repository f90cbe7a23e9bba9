// Putting right what was misread: joins photo, fingers, magnifier, numbers and the program.
import { showChosen } from "./chosen.js";
import { listen } from "./drag.js";
import { DrawLine } from "./draw_line.js";
import { Follow } from "./follow.js";
import { Glass } from "./glass.js";
import { dragged, inside, nearest, round } from "./line_shape.js";
import { changes, mostMoved, showNumbers } from "./numbers.js";
import { PhotoMarks } from "./photo_marks.js";
import { withLines, withPoint } from "./placed.js";
import { get, getText, send } from "./talk.js";
import { undoByKeys } from "./undo_keys.js";

const LEAST_PX = 0.2; // a movement; less is a tap
const LARGEST = 8;
const ZOOM_STEP = 1.4;
const QUIET_MS = 400; // after an answer, before its drawings are made: the next correction is not to wait for them
const find = (id) => document.querySelector(`#${id}`);
const fitting = find("right").dataset.fitting;
const image = find("upright");
const marks = new PhotoMarks(find("photo"));
const glass = new Glass(find("glass"), image);
const follow = new Follow(fitting);
const drawing = new DrawLine(marks, glass, () => (find("drawn").disabled = drawing.points.length < 2));

let view = find("right").dataset.view;
let all = null; // the latest result's marks
let before = null; // those of the one before it
let chosen = null;
let held = null; // what is being moved
let zoom = 1; // width of the photo to that of its frame
let waiting = Promise.resolve();
let asked = 0; // how often anything was asked, so that drawings are those of the latest answer

const photo = () => all.photos.find((one) => one.view === view);

get(`/fitting/${fitting}/marks.json`).then((found) => {
  all = found;
  for (const seam of all.seams) find("line").add(new Option(seam.says, `${seam.name}:${seam.side}`));
  turnTo(view);
  say("");
  drawSoon();
}, (error) => say(error.message));

listen(marks, { begin, move, end, choose });
for (const button of document.querySelectorAll("[data-view][aria-pressed]")) button.addEventListener("click", () => turnTo(button.dataset.view));
find("back").addEventListener("click", () => ask("back", {}));
find("forth").addEventListener("click", () => ask("forth", {}));
find("larger").addEventListener("click", () => zoomTo(zoom * ZOOM_STEP));
find("smaller").addEventListener("click", () => zoomTo(zoom / ZOOM_STEP));
find("draw").addEventListener("click", () => {
  choose(null);
  drawing.begin();
  drawTools(true);
});
find("leave").addEventListener("click", () => {
  drawing.stop();
  drawTools(false);
});
find("drawn").addEventListener("click", () => {
  const points = drawing.stop();
  const [name, side] = find("line").value.split(":");
  drawTools(false);
  put(withLines(all.placed, { name, side, view }, [points]));
});
undoByKeys((way) => ask(way, {}));
addEventListener("resize", () => all && redraw());

/** Another photo. @param {string} wanted */
function turnTo(wanted) {
  view = wanted;
  chosen = null;
  for (const button of document.querySelectorAll("[data-view][aria-pressed]")) button.setAttribute("aria-pressed", String(button.dataset.view === view));
  image.src = `/fitting/${fitting}/upright/${view}.jpg`;
  image.alt = `Photo: ${photo().title}`;
  [image.width, image.height] = photo().size;
  const [left, top, right, bottom] = photo().box;
  zoomTo(photo().size[0] / (right - left), [(left + right) / 2, (top + bottom) / 2]);
  showAll();
}

/** @param {number} wanted @param {[number, number]} middle what of the photo stays in the middle; usually what is there */
function zoomTo(wanted, middle = undefined) {
  const frame = find("frame");
  const [width, height] = photo().size;
  const shown = (frame.scrollWidth || 1) / width;
  const [x, y] = middle || [(frame.scrollLeft + frame.clientWidth / 2) / shown, (frame.scrollTop + frame.clientHeight / 2) / shown];
  zoom = Math.min(Math.max(wanted, 1), LARGEST);
  find("photo").style.width = `${100 * zoom}%`;
  find("photo").style.aspectRatio = `${width} / ${height}`;
  find("larger").disabled = zoom === LARGEST;
  find("smaller").disabled = zoom === 1;
  const times = find("photo").clientWidth / width;
  frame.scrollTo(x * times - frame.clientWidth / 2, y * times - frame.clientHeight / 2);
  redraw();
}

function redraw() {
  marks.draw(photo(), chosen && chosen.kind !== "point" ? chosen.index : -1);
}

function choose(grip) {
  if (drawing.points || held) return;
  const fresh = !chosen || !grip || chosen.kind !== grip.kind || chosen.index !== grip.index;
  const ends = chosen && grip && chosen.kind !== "point" && grip.kind !== "point" && chosen.index === grip.index;
  chosen = grip;
  if (fresh && !ends && all) redraw();
  if (all) showChosen(find("chosen"), photo(), chosen, all, put);
}

/** A movement begins. @returns {boolean} whether it may */
function begin(grip, place) {
  if (!all || drawing.points) return false;
  choose(grip);
  const thing = (grip.kind === "point" ? photo().points : photo().seams)[grip.index];
  const own = { name: thing.name, side: thing.side, view };
  let moved;
  let at;
  if (grip.kind === "point") {
    at = () => thing.xy;
    moved = (dx, dy) => withPoint(all.placed, own, inside([thing.xy[0] + dx, thing.xy[1] + dy], photo().size));
  } else {
    const here = grip.kind === "end" ? grip.at : nearest(thing.points, place || thing.points[Math.floor(thing.points.length / 2)]);
    const others = photo().seams.filter((one) => one !== thing && one.name === thing.name && one.side === thing.side).map((one) => one.points);
    const line = (dx, dy) => dragged(thing.points, here, dx, dy).map((one) => inside(one, photo().size));
    at = () => thing.points[here];
    moved = (dx, dy) => withLines(all.placed, own, [line(dx, dy), ...others]);
    held = { line };
  }
  held = { ...held, grip, at: at(), moved, by: [0, 0] };
  marks.hold(grip);
  follow.begin(moved, followNumbers);
  return true;
}

function move(dx, dy, finger) {
  if (!held) return;
  held.by = [round(dx), round(dy)];
  const place = inside([held.at[0] + dx, held.at[1] + dy], photo().size);
  if (held.grip.kind === "point") marks.movePoint(held.grip.index, place);
  else marks.moveLine(held.grip.index, held.line(dx, dy));
  const line = held.line ? held.line(dx, dy) : [];
  glass.show(place, finger || marks.screenOf(place), line);
  followNumbers();
}

/** The numbers as they follow what is held. */
function followNumbers() {
  if (!held) return;
  const now = follow.at(...held.by);
  showNumbers(find("numbers"), ofPhoto(), all.unit, now, new Map());
  find("following").textContent = mostMoved(all.numbers, now, all.unit);
  find("following").hidden = !now.size;
}

function end(keep) {
  if (!held) return;
  const { by, moved } = held;
  held = null;
  glass.hide();
  find("following").hidden = true;
  marks.hold(null);
  if (keep && Math.hypot(...by) >= LEAST_PX) put(moved(...by));
  else showAll();
}

/** Everything that is put right now. @param {any} placed */
function put(placed) {
  all = { ...all, placed };
  return ask("placed", placed);
}

/** Ask for the exact result; one after the other. @param {string} what @param {any} body */
function ask(what, body) {
  say("Working it out…");
  asked += 1;
  waiting = waiting.then(async () => {
    try {
      const found = await send(`/fitting/${fitting}/${what}`, body);
      before = all.numbers ? all : before;
      all = { ...found, seams: all.seams };
      if (!held) showAll();
      tellChanges();
      say("");
      drawSoon();
    } catch (error) {
      say(error.message);
      const found = await get(`/fitting/${fitting}/marks.json`).catch(() => null);
      if (found && !held) {
        all = found;
        showAll();
      }
    }
  });
  return waiting;
}

/** The drawings of this round, behind the numbers; so the whole answer is ready when she goes back to it. */
function drawSoon() {
  const mine = asked;
  setTimeout(async () => {
    if (held || mine !== asked) return;
    const drawn = await getText(`/fitting/${fitting}/steps.html`).catch(() => "");
    if (mine === asked) find("steps").innerHTML = drawn;
  }, QUIET_MS);
}

function showAll() {
  redraw();
  showChosen(find("chosen"), photo(), chosen, all, put);
  find("back").disabled = !all.back;
  find("forth").disabled = !all.forth;
  find("summary").textContent = all.summary;
  find("asks").replaceChildren(...all.asks.map((line) => Object.assign(document.createElement("p"), { className: "flag", textContent: `${line}.` })));
  showNumbers(find("numbers"), ofPhoto(), all.unit, new Map(), new Map((before ? before.numbers : []).map((one) => [one.key, one])));
}

function tellChanges() {
  find("changed").hidden = !before;
  if (!before) return;
  const list = document.createElement("ul");
  list.append(...changes(before, all).map((line) => Object.assign(document.createElement("li"), { textContent: line })));
  find("changed").replaceChildren(list);
}

function ofPhoto() {
  return all.numbers.filter((one) => one.view === view);
}

function drawTools(on) {
  find("draw").hidden = find("line").disabled = on;
  find("drawn").hidden = find("leave").hidden = !on;
  find("drawn").disabled = true;
  find("how").textContent = on
    ? "Tap along the line from its upper end, or draw it in one stroke. With the keyboard: arrow keys move the cross, Enter sets a point."
    : "Drag a point, a line, or a line’s end. With the keyboard: Tab to it, then the arrow keys move it by half a pixel (with Shift by five).";
}

function say(text) {
  find("state").textContent = text;
}
