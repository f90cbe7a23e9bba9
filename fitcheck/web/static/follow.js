// Numbers that follow while something is dragged: two trial solves give their slopes, and the browser goes on from there.
import { send } from "./talk.js";

const STEP_PX = 4;
const GOOD_FOR_PX = 6; // further off the slopes are taken anew: what else was seen of a point has less and less say

/** Slopes of all numbers at one place. */
export class Follow {
  /** @param {string} fitting */
  constructor(fitting) {
    this.fitting = fitting;
    this.slopes = null;
  }

  /**
   * A movement begins; until its slopes are there, numbers stay.
   * @param {(dx: number, dy: number) => any} moved what is put right when the thing lies so far off
   * @param {() => void} ready told when slopes have come
   */
  begin(moved, ready) {
    Object.assign(this, { moved, ready, slopes: null, asking: false });
    this.#ask(0, 0);
  }

  /**
   * The numbers as they will about be.
   * @param {number} dx @param {number} dy
   * @returns {Map<string, number>} by key; empty until the slopes are known
   */
  at(dx, dy) {
    if (!this.slopes) return new Map();
    const { from, base, across, down } = this.slopes;
    if (!this.asking && Math.hypot(dx - from[0], dy - from[1]) > GOOD_FOR_PX) this.#ask(dx, dy);
    const keys = Object.keys(base).filter((key) => key in across && key in down);
    const by = [(dx - from[0]) / STEP_PX, (dy - from[1]) / STEP_PX];
    return new Map(keys.map((key) => [key, base[key] + (across[key] - base[key]) * by[0] + (down[key] - base[key]) * by[1]]));
  }

  async #ask(dx, dy) {
    const { moved } = this;
    this.asking = true;
    const places = [[dx, dy], [dx + STEP_PX, dy], [dx, dy + STEP_PX]];
    const found = await send(`/fitting/${this.fitting}/trial`, places.map((place) => moved(...place))).catch(() => null);
    if (this.moved !== moved) return; // something else is moved by now
    this.asking = false;
    if (!found) return;
    const [base, across, down] = found;
    this.slopes = { from: [dx, dy], base, across, down };
    this.ready();
  }
}
