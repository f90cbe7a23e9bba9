// A pattern piece put right: joins its picture, fingers, magnifier and the program.
import { listen } from "./drag.js";
import { Glass } from "./glass.js";
import { dragged, inside, nearest, round } from "./line_shape.js";
import { PhotoMarks } from "./photo_marks.js";
import { get, getText, send } from "./talk.js";
import { undoByKeys } from "./undo_keys.js";

const LEAST_PX = 0.2; // a movement; less is a tap
const LARGEST = 8;
const ZOOM_STEP = 1.4;
const MM_PER_UNIT = { cm: 10, in: 25.4 };
const DART_TAPS = ["Tap where the dart’s first leg ends on the outline.", "Now its point.", "Now where its other leg ends."];
const find = (id) => document.querySelector(`#${id}`);
const place = find("right").dataset.piece;
const unit = MM_PER_UNIT[find("right").dataset.unit];
const marks = new PhotoMarks(find("photo"));
const glass = new Glass(find("glass"), find("upright"));

let all = null; // what there is to be moved
let chosen = null;
let held = null; // what is being moved
let zoom = 1; // width of the picture to that of its frame
let least = 1; // at which all of it is seen
let adding = ""; // notch or dart
let taps = []; // of a dart that is being put in
let waiting = Promise.resolve();

const mm = ([x, y]) => [all.low[0] + x * all.mm_per_px, all.low[1] + y * all.mm_per_px].map(round);

get(`/piece/${place}/marks.json`).then((found) => {
  all = found;
  find("photo").style.aspectRatio = `${all.size[0]} / ${all.size[1]}`;
  least = Math.min(1, (find("frame").clientHeight * all.size[0]) / (find("frame").clientWidth * all.size[1]));
  zoomTo(least);
  showAll();
  say("");
}, (error) => say(error.message));

listen(marks, { begin, move, end, choose });
find("back").addEventListener("click", () => ask("back", {}));
find("forth").addEventListener("click", () => ask("forth", {}));
find("larger").addEventListener("click", () => zoomTo(zoom * ZOOM_STEP));
find("smaller").addEventListener("click", () => zoomTo(zoom / ZOOM_STEP));
find("new-name").addEventListener("change", () => put({ what: "rename", name: edge().name, new: find("new-name").value }));
find("on-fold").addEventListener("click", () => put({ what: "fold", name: edge().name === all.fold ? "" : edge().name }));
find("no-notch").addEventListener("click", () => put({ what: "no_notch", index: all.points[chosen.index].index }).then(() => choose(null)));
find("no-dart").addEventListener("click", () => put({ what: "no_dart", index: all.points[chosen.index].index }).then(() => choose(null)));
for (const what of ["notch", "dart"]) find(`add-${what}`).addEventListener("click", () => add(adding === what ? "" : what));
find("allowance").addEventListener("change", () => {
  const value = Number(find("allowance").value.replace(",", "."));
  if (find("allowance").value.trim() && value >= 0) put({ what: "allowance", mm: round(value * unit) });
  else say("The allowance is no number. Write it as 1.5.");
});
marks.svg.addEventListener("pointerdown", (event) => {
  if (!adding || event.button) return;
  event.preventDefault();
  event.stopPropagation();
  taps.push(mm(marks.placeOf(event)));
  if (adding === "dart" && taps.length < DART_TAPS.length) return say(DART_TAPS[taps.length]);
  const said = adding === "dart" ? { what: "new_dart", points: taps } : { what: "notch", index: -1, to: taps[0] };
  add("");
  put(said);
}, true);
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && adding) add("");
});
undoByKeys((way) => ask(way, {}));
addEventListener("resize", () => all && redraw());

/** @param {number} wanted */
function zoomTo(wanted) {
  const frame = find("frame");
  const middle = [(frame.scrollLeft + frame.clientWidth / 2) / (frame.scrollWidth || 1), (frame.scrollTop + frame.clientHeight / 2) / (frame.scrollHeight || 1)];
  zoom = Math.min(Math.max(wanted, least), LARGEST);
  find("photo").style.width = `${100 * zoom}%`;
  find("larger").disabled = zoom === LARGEST;
  find("smaller").disabled = zoom === least;
  frame.scrollTo(middle[0] * frame.scrollWidth - frame.clientWidth / 2, middle[1] * frame.scrollHeight - frame.clientHeight / 2);
  redraw();
}

function redraw() {
  marks.draw(all, -1);
  for (const line of all.lines) {
    const still = document.createElementNS("http://www.w3.org/2000/svg", "polyline");
    still.setAttribute("class", "still");
    still.setAttribute("points", line.map(([x, y]) => `${x + 0.5},${y + 0.5}`).join(" "));
    still.setAttribute("stroke-width", 2 * marks.unit);
    marks.svg.prepend(still);
  }
}

/** The edge that is chosen, or begins at the corner that is. */
function edge() {
  return all.seams[chosen.kind === "point" ? all.points[chosen.index].index : chosen.index];
}

function choose(grip) {
  if (held || adding) return;
  chosen = grip;
  if (all) showChosen();
}

function showChosen() {
  const point = chosen && chosen.kind === "point" ? all.points[chosen.index] : null;
  const line = chosen && chosen.kind === "line" && !all.seams[chosen.index].mouth ? all.seams[chosen.index] : null;
  find("chosen").hidden = !point && !line;
  if (!point && !line) return;
  find("chosen-name").textContent = (point || line).says;
  find("rename").hidden = find("on-fold").hidden = !line;
  find("no-notch").hidden = !point || point.what !== "notch";
  find("no-dart").hidden = !point || point.what !== "dart";
  if (!line) return;
  const names = [...new Set([line.name, ...all.choices, ...all.seams.filter((one) => !one.mouth).map((one) => one.name)])];
  find("new-name").replaceChildren(...names.map((name) => new Option(name.replaceAll("_", " "), name, false, name === line.name)));
  find("on-fold").setAttribute("aria-pressed", String(line.name === all.fold));
}

/** A movement begins. @returns {boolean} whether it may */
function begin(grip, at) {
  if (!all || adding) return false;
  choose(grip);
  if (grip.kind === "point") {
    const point = all.points[grip.index];
    held = { grip, at: point.xy, said: (to) => ({ what: point.what, index: point.index, part: point.part, to: mm(to) }) };
  } else {
    const line = all.seams[grip.index];
    const points = finer(line.points);
    const here = nearest(points, at || points[Math.floor(points.length / 2)]);
    held = { grip, at: points[here], line: (dx, dy) => dragged(points, here, dx, dy) };
    held.said = (to) => ({ what: "edge", name: line.name, points: held.line(to[0] - held.at[0], to[1] - held.at[1]).map(mm) });
  }
  held.by = [0, 0];
  marks.hold(grip);
  return true;
}

/** A line with enough points to bend. @param {[number, number][]} line */
function finer(line) {
  const step = 10 / all.mm_per_px;
  return line.flatMap(([x, y], i) => {
    if (i + 1 === line.length) return [[x, y]];
    const [u, v] = line[i + 1];
    const parts = Math.max(1, Math.ceil(Math.hypot(u - x, v - y) / step));
    return Array.from({ length: parts }, (_, k) => [x + ((u - x) * k) / parts, y + ((v - y) * k) / parts]);
  });
}

function move(dx, dy, finger) {
  if (!held) return;
  held.by = [round(dx), round(dy)];
  const to = inside([held.at[0] + dx, held.at[1] + dy], all.size);
  const line = held.line ? held.line(dx, dy) : [];
  if (held.line) marks.moveLine(held.grip.index, line);
  else marks.movePoint(held.grip.index, to);
  glass.show(to, finger || marks.screenOf(to), line);
}

function end(keep) {
  if (!held) return;
  const { by, at, said } = held;
  glass.hide();
  marks.hold(null);
  const wanted = keep && Math.hypot(...by) >= LEAST_PX ? said(inside([at[0] + by[0], at[1] + by[1]], all.size)) : null;
  held = null;
  if (wanted) put(wanted);
  else redraw();
}

/** One thing put right. @param {any} said */
function put(said) {
  return ask("put", said);
}

/** @param {string} what @param {any} body */
function ask(what, body) {
  say("Working it out…");
  waiting = waiting.then(async () => {
    try {
      all = await send(`/piece/${place}/${what}`, body);
      say("");
      showAll();
      find("outcome").innerHTML = await getText(`/piece/${place}/outcome.html`);
    } catch (error) {
      say(error.message);
      showAll();
    }
  });
  return waiting;
}

function showAll() {
  if (held) return;
  redraw();
  showChosen();
  find("back").disabled = !all.back;
  find("forth").disabled = !all.forth;
  find("allowance").value = round(all.allowance_mm / unit);
  find("numbers").replaceChildren(...all.numbers.map((text) => item("li", text)));
  find("notes").replaceChildren(...all.notes.map((text) => Object.assign(item("p", text), { className: "flag" })));
}

/** Begin to put something in, or leave off. @param {"" | "notch" | "dart"} what */
function add(what) {
  adding = what;
  taps = [];
  for (const one of ["notch", "dart"]) find(`add-${one}`).setAttribute("aria-pressed", String(one === what));
  find("photo").classList.toggle("adding", Boolean(what));
  say({ "": "", notch: "Tap where the notch is on the outline.", dart: DART_TAPS[0] }[what]);
}

function item(kind, text) {
  return Object.assign(document.createElement(kind), { textContent: text });
}

function say(text) {
  find("state").textContent = text;
}
