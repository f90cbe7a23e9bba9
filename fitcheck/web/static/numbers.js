// The list of numbers beside the photo: as they are, as they follow, and what changed.
import { says } from "./lengths.js";

const LEAST_MM = 0.5; // a change that is said; less is not seen on a tape

/**
 * @param {HTMLElement} list @param {any[]} numbers those of the photo shown @param {"cm" | "in"} unit
 * @param {Map<string, number>} now numbers that follow a finger, by key
 * @param {Map<string, any>} before those of the result before, by key
 */
export function showNumbers(list, numbers, unit, now, before) {
  list.replaceChildren(
    ...numbers.map((number) => {
      const item = Object.assign(document.createElement("li"), { className: number.verdict });
      const follows = now.has(number.key);
      const text = follows ? says(number, now.get(number.key), unit) : number.says;
      item.append(`${number.name}: `, strong(text), " ", soft(`± ${number.margin}`));
      const was = before.get(number.key);
      if (!follows && was && moved(was, number)) {
        item.classList.add("moved");
        item.append(Object.assign(document.createElement("span"), { className: "was", textContent: `, was ${was.says}` }));
      }
      return item;
    }),
  );
}

/** The number that a movement changes most, in words. @param {any[]} numbers @param {Map<string, number>} now @param {"cm" | "in"} unit */
export function mostMoved(numbers, now, unit) {
  const followed = numbers.filter((number) => now.has(number.key));
  const by = (number) => Math.abs(now.get(number.key) - number.value) / Math.max(number.sd, 0.1);
  const most = followed.sort((a, b) => by(b) - by(a))[0];
  return most ? `${most.name}: ${says(most, now.get(most.key), unit)}` : "";
}

/** What another result says otherwise, in sentences. @param {any} before @param {any} after @returns {string[]} */
export function changes(before, after) {
  const lines = [];
  if (before.summary !== after.summary) lines.push(`Before, it said: ${before.summary}`);
  const fresh = after.present.filter((line) => !before.present.includes(line));
  const gone = before.present.filter((line) => !after.present.includes(line));
  if (fresh.length) lines.push(`Now: ${fresh.join(" ")}`);
  if (gone.length) lines.push(`No longer: ${gone.join(" ")}`);
  const was = new Map(before.numbers.map((number) => [number.key, number]));
  const count = after.numbers.filter((number) => was.has(number.key) && moved(was.get(number.key), number)).length;
  if (count) lines.push(`${count} ${count === 1 ? "number" : "numbers"} changed.`);
  return lines.length ? lines : ["Nothing that would be seen on a tape has changed."];
}

function moved(was, number) {
  return Math.abs(number.value - was.value) >= LEAST_MM && number.says !== was.says;
}

function strong(text) {
  return Object.assign(document.createElement("strong"), { textContent: text });
}

function soft(text) {
  return Object.assign(document.createElement("span"), { className: "soft", textContent: text });
}
