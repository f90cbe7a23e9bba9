// Ctrl Z, Ctrl Y and Shift Ctrl Z wherever something is put right, but not in a field, where they are the browser's own.

/** @param {(way: "back" | "forth") => void} step */
export function undoByKeys(step) {
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, textarea")) return;
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      step(key === "y" || event.shiftKey ? "forth" : "back");
    }
  });
}
