// Numbers in words while something is dragged; as the program itself says them.

const MM_PER_EIGHTH = 25.4 / 8;

/**
 * A length or an angle without its sign.
 * @param {number} value mm or degrees
 * @param {"mm" | "deg"} kind
 * @param {"cm" | "in"} unit
 */
export function quantity(value, kind, unit) {
  const size = Math.abs(value);
  if (kind === "deg") return `${size.toFixed(1)}°`;
  if (unit === "cm") {
    const mm = Math.floor(size + 0.5);
    return mm ? `${Math.floor(mm / 10)}.${mm % 10} cm` : "0 cm";
  }
  const eighths = Math.floor(size / MM_PER_EIGHTH + 0.5);
  let [above, below] = [eighths % 8, 8];
  while (above && above % 2 === 0) [above, below] = [above / 2, below / 2];
  const words = [Math.floor(eighths / 8) || "", above ? `${above}/${below}` : ""].filter(Boolean).join(" ");
  return `${words || "0"} in`;
}

/**
 * One measurement in words.
 * @param {{value: number, unit: "mm" | "deg", plus: string, minus: string, nought: string}} number
 * @param {number} value
 * @param {"cm" | "in"} unit
 */
export function says(number, value, unit) {
  const size = quantity(value, number.unit, unit);
  if (["0 cm", "0 in", "0.0°"].includes(size)) return number.nought;
  return (value > 0 ? number.plus : number.minus).replace("{}", size);
}
