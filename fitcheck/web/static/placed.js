// What is put right, as plain data { point: [...], seam: [...] }: every change makes a new one, nothing changes what it was given.
// A line's name, side and photo are what it is known by; what is placed under them stands for all lines of that name there.

const same = (a, b) => a.name === b.name && (a.side || "") === (b.side || "") && a.view === b.view;

/** @typedef {{name: string, side: string, view: string}} Named */
/** @typedef {{point: any[], seam: any[]}} Placed */

/** A point put where it belongs. @param {Placed} placed @param {Named} point @param {[number, number]} xy @param {boolean} sure @returns {Placed} */
export function withPoint(placed, point, xy, sure = false) {
  const others = placed.point.filter((one) => !same(one, point));
  return { ...placed, point: [...others, { ...named(point), xy, sure }] };
}

/** A point as it was read. @param {Placed} placed @param {Named} point @returns {Placed} */
export function withoutPoint(placed, point) {
  return { ...placed, point: placed.point.filter((one) => !same(one, point)) };
}

/** All lines of one name in one photo; none: it shows no such seam. @param {Placed} placed @param {Named} seam @param {any[][]} lines @returns {Placed} */
export function withLines(placed, seam, lines) {
  const others = placed.seam.filter((one) => !same(one, seam));
  const own = (lines.length ? lines : [[]]).map((points) => ({ ...named(seam), points }));
  return { ...placed, seam: [...others, ...own] };
}

/** Lines of this name as they were read. @param {Placed} placed @param {Named} seam @returns {Placed} */
export function asRead(placed, seam) {
  return { ...placed, seam: placed.seam.filter((one) => !same(one, seam)) };
}

/** Whether something is placed under this name. @param {any[]} list @param {Named} thing */
export function isPlaced(list, thing) {
  return list.some((one) => same(one, thing));
}

function named({ name, side, view }) {
  return side ? { name, side, view } : { name, view };
}
