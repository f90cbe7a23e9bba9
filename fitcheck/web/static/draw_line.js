// Drawing a line where none was found: by taps, by a stroke, or with the keyboard.
import { inside } from "./line_shape.js";

const KEY_PX = 5;
const KEY_FAST_PX = 50;
const APART_PX = 6; // of the screen, between points of one stroke
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** One line that is being drawn. */
export class DrawLine {
  /** @param {import("./photo_marks.js").PhotoMarks} marks @param {import("./glass.js").Glass} glass @param {() => void} changed */
  constructor(marks, glass, changed) {
    Object.assign(this, { marks, glass, changed, points: null, cursor: null, pressed: false });
    marks.svg.addEventListener("pointerdown", (event) => this.#press(event), true);
    marks.svg.addEventListener("pointermove", (event) => this.#stroke(event));
    for (const kind of ["pointerup", "pointercancel"]) marks.svg.addEventListener(kind, () => this.#lift());
    marks.svg.addEventListener("keydown", (event) => this.#key(event), true);
  }

  /** Begin a new one. */
  begin() {
    this.points = [];
    this.cursor = this.marks.size.map((side) => Math.round(side / 2));
    this.marks.place.classList.add("drawing");
    this.marks.svg.setAttribute("tabindex", "0");
    this.marks.svg.focus({ preventScroll: true });
    this.marks.showNew([], this.cursor);
  }

  /** No more; gives what was drawn. @returns {[number, number][]} */
  stop() {
    const points = this.points || [];
    this.points = this.cursor = null;
    this.marks.place.classList.remove("drawing");
    this.marks.svg.removeAttribute("tabindex");
    this.glass.hide();
    this.marks.showNew([], null);
    return points;
  }

  #add(place) {
    this.points.push(inside(place, this.marks.size));
    this.cursor = this.points.at(-1);
    this.marks.showNew(this.points, null);
    this.changed();
  }

  #press(event) {
    if (!this.points || event.button) return;
    event.preventDefault();
    event.stopPropagation();
    this.marks.svg.setPointerCapture(event.pointerId);
    this.pressed = true;
    this.#add(this.marks.placeOf(event));
    this.glass.show(this.cursor, { x: event.clientX, y: event.clientY }, this.points);
  }

  #stroke(event) {
    if (!this.points || !this.pressed) return;
    const place = this.marks.placeOf(event);
    const last = this.points.at(-1);
    if (Math.hypot(place[0] - last[0], place[1] - last[1]) > APART_PX * this.marks.unit) this.#add(place);
    this.glass.show(this.cursor, { x: event.clientX, y: event.clientY }, this.points);
  }

  #lift() {
    this.pressed = false;
    if (this.points) this.glass.hide();
  }

  #key(event) {
    if (!this.points) return;
    const arrow = ARROWS[event.key];
    if (arrow) {
      const step = event.shiftKey ? KEY_FAST_PX : KEY_PX;
      this.cursor = inside([this.cursor[0] + arrow[0] * step, this.cursor[1] + arrow[1] * step], this.marks.size);
      this.marks.showNew(this.points, this.cursor);
      this.glass.show(this.cursor, this.marks.screenOf(this.cursor), this.points);
    } else if (event.key === "Enter" || event.key === " ") this.#add(this.cursor);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
}
