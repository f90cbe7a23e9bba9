// How far it is, by server-sent events; the answer is loaded when it is there.

const GOES_ON = ["waiting", "checking"];
const place = document.querySelector("#reading");
const stages = [...document.querySelectorAll("[data-stage]")];
const photos = [...document.querySelectorAll("[data-view]")];
const events = new EventSource(`/fitting/${place.dataset.fitting}/events`);
const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);

events.addEventListener("message", (event) => {
  const { state, stage, share, view, reads } = JSON.parse(event.data);
  if (!GOES_ON.includes(state)) {
    events.close();
    location.reload();
    return;
  }
  document.querySelector("#stage").textContent = upper(stage);
  document.querySelector("#reads").textContent = upper(reads);
  document.querySelector("#share").value = share;
  const now = stages.findIndex((one) => one.dataset.stage === stage);
  stages.forEach((one, i) => {
    one.classList.toggle("now", i === now);
    one.classList.toggle("over", i < now);
  });
  for (const photo of photos) photo.classList.toggle("now", photo.dataset.view === view);
});
