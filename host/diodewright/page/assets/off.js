// OFF: always there, by hand or by key; says whether the board did it.

import { on, say } from "./link.js";

const told = document.getElementById("off-told");
const NO_LINK = "NOT SENT: no connection. Let the trigger go, or pull the pack.";
let waiting = null;

function off() {
  clearTimeout(waiting);
  if (!say("off")) {
    told.textContent = NO_LINK;
    return;
  }
  told.textContent = "OFF is on its way to the board";
  waiting = setTimeout(() => {
    told.textContent = "NOT CONFIRMED by the board. Let the trigger go, or pull the pack.";
  }, 1500);
}

document.getElementById("off").addEventListener("click", off);
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !event.repeat) off();
});
let count = null;
on("state", (state) => {
  if (count !== null && state.offs > count) {
    clearTimeout(waiting);
    told.textContent = state.off_said;
  }
  count = state.offs;
});
on("linked", (is) => {
  if (!is) told.textContent = NO_LINK;
  else if (told.textContent === NO_LINK) told.textContent = "Connected again. OFF works: key Esc.";
});
