// The photo's points and lines as things to take hold of. It draws; what a movement means is decided by whoever listens.

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {{kind: "point" | "line" | "end", index: number, at: number}} Grip */

/** Draws the marks of one photo over it. */
export class PhotoMarks {
  /** @param {HTMLElement} place the box that the photo fills */
  constructor(place) {
    this.place = place;
    this.svg = place.appendChild(document.createElementNS(SVG, "svg"));
    this.svg.setAttribute("role", "group");
    this.svg.setAttribute("aria-label", "Points and lines in the photo");
  }

  /** Pixels of the photo to a pixel of the screen. */
  get unit() {
    return this.size[0] / Math.max(this.place.clientWidth, 1);
  }

  /** Where on the photo a place on the screen is. @param {{clientX: number, clientY: number}} event @returns {[number, number]} */
  placeOf(event) {
    const box = this.svg.getBoundingClientRect();
    return [((event.clientX - box.left) / box.width) * this.size[0] - 0.5, ((event.clientY - box.top) / box.height) * this.size[1] - 0.5];
  }

  /** Where on the screen a place of the photo is. @param {[number, number]} place */
  screenOf([x, y]) {
    const box = this.svg.getBoundingClientRect();
    return { x: box.left + ((x + 0.5) / this.size[0]) * box.width, y: box.top + ((y + 0.5) / this.size[1]) * box.height };
  }

  /**
   * Draw all marks anew; what had the keyboard's attention has it again.
   * @param {{size: [number, number], points: any[], seams: any[]}} photo
   * @param {number} chosen number of the line whose ends are shown, or -1
   */
  draw(photo, chosen) {
    const had = this.svg.contains(document.activeElement) ? document.activeElement.dataset.grip : null;
    this.size = photo.size;
    this.svg.setAttribute("viewBox", `0 0 ${photo.size[0]} ${photo.size[1]}`);
    this.svg.replaceChildren();
    photo.seams.forEach((seam, i) => this.#line(seam, i));
    photo.points.forEach((point, i) => this.#round({ kind: "point", index: i, at: 0 }, point.xy, `point ${point.grade}`, point.says, 7));
    const seam = photo.seams[chosen];
    if (seam)
      for (const at of [0, seam.points.length - 1])
        this.#round({ kind: "end", index: chosen, at }, seam.points[at], `end seam ${seam.placed ? "placed" : ""}`, `${at ? "Lower or far" : "Upper or near"} end of ${seam.says}`, 8);
    if (had) this.svg.querySelector(`[data-grip="${CSS.escape(had)}"]`)?.focus({ preventScroll: true });
  }

  /** Show a line while it is moved. @param {number} index @param {[number, number][]} points */
  moveLine(index, points) {
    for (const part of this.svg.querySelectorAll(`[data-grip="line:${index}:0"] polyline`)) part.setAttribute("points", text(points));
    for (const at of [0, points.length - 1]) this.#moveRound(`end:${index}:${at}`, points[at]);
  }

  /** Show a point while it is moved. @param {number} index @param {[number, number]} place */
  movePoint(index, place) {
    this.#moveRound(`point:${index}:0`, place);
  }

  /** Show a line that is being drawn. @param {[number, number][]} points @param {[number, number] | null} cursor */
  showNew(points, cursor) {
    this.svg.querySelector(".new-line")?.remove();
    const group = this.svg.appendChild(document.createElementNS(SVG, "g"));
    group.setAttribute("class", "new-line");
    group.append(shape("polyline", { points: text(points), "stroke-width": 3 * this.unit }));
    for (const [x, y] of points) group.append(shape("circle", { cx: x + 0.5, cy: y + 0.5, r: 4 * this.unit, "stroke-width": 2 * this.unit }));
    if (cursor) {
      const [x, y] = [cursor[0] + 0.5, cursor[1] + 0.5];
      const arm = 16 * this.unit;
      group.append(shape("path", { d: `M${x - arm} ${y}H${x + arm}M${x} ${y - arm}V${y + arm}`, "stroke-width": 2 * this.unit }));
    }
  }

  /** The thing that an event's target belongs to. @param {EventTarget | null} target @returns {Grip | null} */
  gripOf(target) {
    const found = target instanceof Element ? target.closest("[data-grip]") : null;
    if (!found) return null;
    const [kind, index, at] = found.dataset.grip.split(":");
    return { kind, index: Number(index), at: Number(at) };
  }

  /** Give a thing the keyboard's attention. @param {Grip} grip */
  focus(grip) {
    this.svg.querySelector(`[data-grip="${grip.kind}:${grip.index}:${grip.at}"]`)?.focus({ preventScroll: true });
  }

  /** Mark what is held. @param {Grip | null} grip */
  hold(grip) {
    for (const one of this.svg.querySelectorAll(".held")) one.classList.remove("held");
    if (grip) this.svg.querySelector(`[data-grip="${grip.kind}:${grip.index}:${grip.at}"]`)?.classList.add("held");
  }

  #moveRound(name, [x, y]) {
    for (const part of this.svg.querySelectorAll(`[data-grip="${name}"] circle`)) {
      part.setAttribute("cx", x + 0.5);
      part.setAttribute("cy", y + 0.5);
    }
  }

  #group(grip, kind, says) {
    const group = this.svg.appendChild(document.createElementNS(SVG, "g"));
    group.setAttribute("class", `grip ${kind}`);
    group.dataset.grip = `${grip.kind}:${grip.index}:${grip.at}`;
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.setAttribute("aria-roledescription", grip.kind === "point" ? "point to move" : "line to move");
    group.setAttribute("aria-label", says);
    return group;
  }

  #line(seam, index) {
    const group = this.#group({ kind: "line", index, at: 0 }, `seam ${seam.placed ? "placed" : ""}`, `Seam line: ${seam.says}`);
    for (const [part, width] of [["hit", 22], ["halo", 5.5], ["body", 2.5]])
      group.append(shape("polyline", { class: part, fill: "none", points: text(seam.points), "stroke-width": width * this.unit, "pointer-events": "stroke" }));
  }

  #round(grip, [x, y], kind, says, radius) {
    const group = this.#group(grip, kind, says);
    for (const [part, r, width] of [["hit", 20, 0], ["halo", radius + 1, 3], ["body", radius, 2]])
      group.append(shape("circle", { class: part, cx: x + 0.5, cy: y + 0.5, r: r * this.unit, "stroke-width": width * this.unit }));
  }
}

function shape(kind, attributes) {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

function text(points) {
  return points.map(([x, y]) => `${x + 0.5},${y + 0.5}`).join(" ");
}
