// Lines as lists of points [x, y] in pixels of the photo: how they give way to a finger.

const REACH = 0.3; // share of a line's length that follows where it is dragged

/** @typedef {[number, number]} Point */

/** Length along the line up to each of its points. @param {Point[]} line @returns {number[]} */
export function along(line) {
  const lengths = [0];
  for (let i = 1; i < line.length; i += 1) lengths.push(lengths[i - 1] + Math.hypot(line[i][0] - line[i - 1][0], line[i][1] - line[i - 1][1]));
  return lengths;
}

/** The number of the point nearest to a place. @param {Point[]} line @param {Point} place */
export function nearest(line, [x, y]) {
  let best = 0;
  line.forEach(([px, py], i) => {
    if (Math.hypot(px - x, py - y) < Math.hypot(line[best][0] - x, line[best][1] - y)) best = i;
  });
  return best;
}

/**
 * The line dragged at one of its points: that one follows wholly, its neighbours less the further they are, smoothly.
 * @param {Point[]} line @param {number} at @param {number} dx @param {number} dy @returns {Point[]}
 */
export function dragged(line, at, dx, dy) {
  const lengths = along(line);
  const reach = Math.max(REACH * lengths[lengths.length - 1], 1);
  return line.map(([x, y], i) => {
    const far = Math.abs(lengths[i] - lengths[at]) / reach;
    const share = far < 1 ? (1 + Math.cos(Math.PI * far)) / 2 : 0;
    return [round(x + share * dx), round(y + share * dy)];
  });
}

/** The whole line moved. @param {Point[]} line @param {number} dx @param {number} dy @returns {Point[]} */
export function shifted(line, dx, dy) {
  return line.map(([x, y]) => [round(x + dx), round(y + dy)]);
}

/** Inside the photo, to a hundredth of a pixel. @param {Point} place @param {[number, number]} size @returns {Point} */
export function inside([x, y], [width, height]) {
  return [round(Math.min(Math.max(x, 0), width - 1)), round(Math.min(Math.max(y, 0), height - 1))];
}

/** @param {number} value */
export function round(value) {
  return Math.round(value * 100) / 100;
}
