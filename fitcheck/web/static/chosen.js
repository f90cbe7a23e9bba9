// What can be done with the point or line that was chosen, as buttons beside the photo.
import { asRead, isPlaced, withLines, withPoint, withoutPoint } from "./placed.js";

/**
 * @param {HTMLElement} box @param {any} photo @param {any} grip @param {any} marks all marks of the fitting
 * @param {(placed: any) => void} put
 */
export function showChosen(box, photo, grip, marks, put) {
  const thing = grip && (grip.kind === "point" ? photo.points : photo.seams)[grip.index];
  box.hidden = !thing;
  if (!thing) return;
  box.querySelector("h2").textContent = thing.says;
  const own = { name: thing.name, side: thing.side, view: photo.view };
  const tools = box.querySelector(".tools");
  tools.replaceChildren(...(grip.kind === "point" ? ofPoint(thing, own, marks, put) : ofLine(thing, own, photo, marks, put)));
}

function ofPoint(point, own, marks, put) {
  const tools = [];
  if (isPlaced(marks.placed.point, own)) tools.push(button("As it was read", () => put(withoutPoint(marks.placed, own))));
  if (isPlaced(marks.placed.point, own) && marks.asks.some((line) => line.toLowerCase().startsWith(own.name.replaceAll("_", " "))))
    tools.push(button("It is right there", () => put(withPoint(marks.placed, own, point.xy, true))));
  if (!tools.length) tools.push(Object.assign(document.createElement("p"), { className: "soft", textContent: "Drag it to where it belongs." }));
  return tools;
}

function ofLine(line, own, photo, marks, put) {
  const others = photo.seams.filter((one) => one !== line && one.name === line.name && one.side === line.side).map((one) => one.points);
  const tools = [button("This is not a seam", () => put(withLines(marks.placed, own, others)))];
  if (isPlaced(marks.placed.seam, own)) tools.push(button("As it was read", () => put(asRead(marks.placed, own))));
  const label = Object.assign(document.createElement("label"), { textContent: "It is another line: " });
  const names = document.createElement("select");
  for (const seam of marks.seams) names.add(new Option(seam.says, `${seam.name}:${seam.side}`, false, seam.name === line.name && seam.side === line.side));
  names.addEventListener("change", () => {
    const [name, side] = names.value.split(":");
    put(withLines(withLines(marks.placed, own, others), { name, side, view: photo.view }, [line.points]));
  });
  label.append(names);
  return [...tools, label];
}

function button(text, press) {
  const made = Object.assign(document.createElement("button"), { type: "button", textContent: text });
  made.addEventListener("click", press);
  return made;
}
