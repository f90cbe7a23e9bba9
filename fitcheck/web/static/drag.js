// Movements by mouse, finger, pen and keyboard, all told in the same three words: begin, move, end.

const KEY_PX = 0.5;
const KEY_FAST_PX = 5;
const REST_MS = 700; // after the last key the movement is over
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * Listen on the marks.
 * @param {import("./photo_marks.js").PhotoMarks} marks
 * @param {{begin: (grip: any, place: any) => boolean, move: (dx: number, dy: number, finger: any) => void, end: (keep: boolean) => void, choose: (grip: any) => void}} to
 */
export function listen(marks, to) {
  byPointer(marks, to);
  byKeys(marks, to);
}

function byPointer(marks, to) {
  let start = null;
  marks.svg.addEventListener("pointerdown", (event) => {
    const grip = marks.gripOf(event.target);
    if (!grip || event.button || !to.begin(grip, marks.placeOf(event))) return;
    event.preventDefault();
    marks.focus(grip);
    marks.svg.setPointerCapture(event.pointerId);
    start = marks.placeOf(event);
    to.move(0, 0, { x: event.clientX, y: event.clientY });
  });
  marks.svg.addEventListener("pointermove", (event) => {
    if (!start) return;
    const [x, y] = marks.placeOf(event);
    to.move(x - start[0], y - start[1], { x: event.clientX, y: event.clientY });
  });
  const over = (keep) => () => {
    if (!start) return;
    start = null;
    to.end(keep);
  };
  marks.svg.addEventListener("pointerup", over(true));
  marks.svg.addEventListener("pointercancel", over(false));
}

function byKeys(marks, to) {
  let by = null;
  let rest = 0;
  const over = (keep) => {
    clearTimeout(rest);
    if (!by) return;
    by = null;
    to.end(keep);
  };
  marks.svg.addEventListener("keydown", (event) => {
    const grip = marks.gripOf(event.target);
    if (!grip) return;
    const arrow = ARROWS[event.key];
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      if (by) over(true);
      else to.choose(grip);
    } else if (event.key === "Escape") over(false);
    else if (arrow && !event.altKey && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      if (!by) {
        if (!to.begin(grip, null)) return;
        by = [0, 0];
      }
      const step = event.shiftKey ? KEY_FAST_PX : KEY_PX;
      by = [by[0] + arrow[0] * step, by[1] + arrow[1] * step];
      to.move(by[0], by[1], null);
      clearTimeout(rest);
      rest = setTimeout(() => over(true), REST_MS);
    }
  });
  marks.svg.addEventListener("focusout", () => over(true));
  marks.svg.addEventListener("focusin", (event) => {
    const grip = marks.gripOf(event.target);
    if (grip) to.choose(grip);
  });
}
