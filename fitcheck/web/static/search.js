// Search in the list of words as it is typed.

const field = document.querySelector("#search");
const found = document.querySelector("#found");
field.addEventListener("input", search);
search();

function search() {
  const asked = field.value.trim().toLowerCase();
  let count = 0;
  for (const kind of document.querySelectorAll(".kind")) {
    let some = false;
    for (const item of kind.querySelectorAll("li")) {
      item.hidden = !item.textContent.toLowerCase().includes(asked);
      some ||= !item.hidden;
      count += item.hidden ? 0 : 1;
    }
    kind.hidden = !some;
  }
  found.textContent = asked ? `${count} found` : "";
}
