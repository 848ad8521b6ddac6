// How it stands, in words; what changes is said aloud once.

import { on, linked } from "./link.js";

const LIT = new Set(["start", "soft_start", "run", "limited"]);
const DARK = new Set(["fault", "pack_low", "barred"]);
const at = (id) => document.getElementById(id);
let spoken = "";
let refusedUntil = 0;

export function put(id, text) {
  const place = at(id);
  if (place && place.textContent !== text) place.textContent = text;
}

function stands(state) {
  const lit = LIT.has(state.mode) ? "yes" : DARK.has(state.mode) ? "fault" : "no";
  document.querySelector(".stands").dataset.lit = lit;
  put("mode", state.mode.replace("_", " "));
  put("says", state.says);
  put("cause", state.cause ? `First cause: ${state.row}: ${state.cause}` : "");
  put("hint", state.hint);
  put("alarm", state.alarm);
  if (state.mode !== spoken) {
    spoken = state.mode;
    put("aloud", `${state.mode.replace("_", " ")}: ${state.says}. Next: ${state.hint}`);
  }
  if (performance.now() > refusedUntil) put("refused", "");
}

export function start() {
  on("state", stands);
  on("refused", (said) => {
    put("refused", `Not done: ${said.why}`);
    refusedUntil = performance.now() + 5000;
  });
  on("linked", (is) => {
    put("link", is ? "connected" : "no connection to the page's server: what is shown is old");
    for (const each of document.querySelectorAll("main button, main input")) {
      if (!each.dataset.always && !each.closest("[data-own]")) each.disabled = !is;
    }
    if (!linked()) put("mode", "no link");
  });
}
