// Asking the program for something.
import { closed } from "./alive.js";

/**
 * Send something, get the answer's data.
 * @param {string} address
 * @param {BodyInit | object} body an object goes as JSON
 * @returns {Promise<any>}
 * @throws {Error} with a sentence for her
 */
export async function send(address, body) {
  const plain = Object.getPrototypeOf(body) === Object.prototype || Array.isArray(body);
  return answer(address, { method: "POST", body: plain ? JSON.stringify(body) : body });
}

/** @param {string} address */
export async function get(address) {
  return answer(address, {});
}

/** A part of a page. @param {string} address @returns {Promise<string>} */
export async function getText(address) {
  const response = await asked(address, {});
  if (!response.ok) throw new Error("That did not work.");
  return response.text();
}

async function asked(address, options) {
  try {
    return await fetch(address, options);
  } catch {
    closed();
    throw new Error("fitcheck does not answer.");
  }
}

async function answer(address, options) {
  const response = await asked(address, options);
  const data = await response.json().catch(() => ({ problem: "fitcheck gave no answer that can be read. Load the page again." }));
  if (!response.ok) throw new Error(data.problem || "That did not work.");
  return data;
}
