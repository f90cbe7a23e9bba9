// Bringing a wearer in from a zip.
import { send } from "./talk.js";

const file = document.querySelector("#zip");
const brought = document.querySelector("#brought");
document.querySelector("#bring").addEventListener("click", async () => {
  if (!file.files.length) {
    brought.textContent = "Choose the zip first.";
    return;
  }
  brought.textContent = "Bringing her in…";
  try {
    const found = await send(`/archive?as=${encodeURIComponent(document.querySelector("#as").value)}`, file.files[0]);
    brought.textContent = `${found.wearer}: ${found.fittings} ${found.fittings === 1 ? "fitting" : "fittings"}.`;
  } catch (error) {
    brought.textContent = error.message;
  }
});
