// Time at will: pause, step, speed, and looking back.

import { on, say } from "./link.js";
import { put } from "./words.js";

const at = (id) => document.getElementById(id);
const seek = at("seek");
let paused = false;
let soughtAt = -1e9;
let asked = null;

at("pause").addEventListener("click", () => say(paused ? "go" : "pause"));
at("step-1").addEventListener("click", () => say("step", "", 1));
at("step-100").addEventListener("click", () => say("step", "", 100));
at("begin")?.addEventListener("click", () => say("begin"));
for (const speed of document.querySelectorAll('input[name="speed"]')) {
  speed.addEventListener("change", () => say("speed", "", Number(speed.value)));
}
// a dragged slider asks for the latest place alone, ten times a second
seek.addEventListener("input", () => {
  soughtAt = performance.now();
  if (asked === null) {
    asked = setTimeout(() => {
      asked = null;
      say("seek", "", Number(seek.value));
    }, 100);
  }
});

const seconds = (ticks) => `${(ticks / 1000).toFixed(3)} s`;

on("state", (state) => {
  paused = state.paused;
  put("now", seconds(state.tick));
  put("pause", paused ? "Go on" : "Pause");
  at("pause").setAttribute("aria-pressed", String(paused));
  for (const id of ["step-1", "step-100"]) at(id).disabled = !paused;
  const speed = document.querySelector(`input[name="speed"][value="${state.speed}"]`);
  if (speed && !speed.checked) speed.checked = true;
  if (performance.now() - soughtAt < 600) return;
  seek.max = state.end;
  seek.value = state.tick;
  const said = state.tick < state.end ? `${seconds(state.tick)} of ${seconds(state.end)}` : "at the end";
  put("seek-said", said);
  seek.setAttribute("aria-valuetext", said);
});
