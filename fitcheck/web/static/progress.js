// How far the check is, by server-sent events; the answer is loaded when it is there.

const place = document.querySelector("#reading");
const stages = [...document.querySelectorAll("[data-stage]")];
const events = new EventSource(`/fitting/${place.dataset.fitting}/events`);

events.addEventListener("message", (event) => {
  const { state, stage, share } = JSON.parse(event.data);
  if (state !== "waiting" && state !== "checking") {
    events.close();
    location.reload();
    return;
  }
  document.querySelector("#stage").textContent = stage.charAt(0).toUpperCase() + stage.slice(1);
  document.querySelector("#share").value = share;
  const now = stages.findIndex((one) => one.dataset.stage === stage);
  stages.forEach((one, i) => {
    one.classList.toggle("now", i === now);
    one.classList.toggle("over", i < now);
  });
});
