// Several sizes or pieces are seen: she clicks hers, or names it.
const click = document.querySelector("#click");
const form = document.querySelector("#choice");
const image = click.querySelector("img");
const low = JSON.parse(click.dataset.low);

click.addEventListener("click", (event) => {
  if (!event.detail) return; // by the keyboard there is no place; the list above names the lines
  const box = image.getBoundingClientRect();
  const place = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height].map((share, i) => low[i] + share * [image.naturalWidth, image.naturalHeight][i] * Number(click.dataset.mm));
  document.querySelector("#at").value = place.map((value) => value.toFixed(2)).join(",");
  for (const radio of form.querySelectorAll("[type=radio]")) radio.checked = false;
  form.requestSubmit();
});
form.addEventListener("submit", () => {
  document.querySelector("#state").textContent = "Reading the piece…";
});
