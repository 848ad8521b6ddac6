// The hand on a simulated light: trigger, switches, sliders, and parts to break and mend.

import { on, say } from "./link.js";
import { put } from "./words.js";

const trigger = document.getElementById("trigger");
const keep = document.getElementById("trigger-keep");
let pressed = false;

function press() {
  if (pressed || trigger.disabled) return;
  pressed = say("press");
}

function letGo() {
  if (!pressed || keep.checked) return;
  pressed = false;
  say("let-go");
}

function letGoAtOnce() {
  keep.checked = false;
  letGo();
}

const isPress = (event) => event.key === " " || event.key === "Enter";

trigger.addEventListener("pointerdown", (event) => {
  if (event.button !== 0) return;
  if (pressed && keep.checked) return letGoAtOnce();
  trigger.setPointerCapture(event.pointerId);
  press();
});
for (const name of ["pointerup", "pointercancel", "lostpointercapture", "blur"]) {
  trigger.addEventListener(name, letGo);
}
trigger.addEventListener("keydown", (event) => {
  if (!isPress(event)) return;
  event.preventDefault();
  if (event.repeat) return;
  if (pressed && keep.checked) letGoAtOnce();
  else press();
});
trigger.addEventListener("keyup", (event) => {
  if (isPress(event)) letGo();
});
trigger.addEventListener("contextmenu", (event) => event.preventDefault());
keep.addEventListener("change", () => {
  if (!keep.checked) letGo();
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") letGoAtOnce();
});
// who looks elsewhere does not hold a trigger
document.addEventListener("visibilitychange", () => {
  if (document.hidden) letGoAtOnce();
});
addEventListener("pagehide", letGoAtOnce);
on("linked", (is) => {
  if (!is) pressed = false;
});

for (const toggle of document.querySelectorAll("[data-control]")) {
  toggle.addEventListener("click", () => {
    say("set", toggle.dataset.control, toggle.getAttribute("aria-checked") === "true" ? 0 : 1);
  });
}
for (const choice of document.querySelectorAll("[data-choice]")) {
  choice.addEventListener("change", (event) => say("set", choice.dataset.choice, Number(event.target.value)));
}
const moved = new Map();
for (const slider of document.querySelectorAll("[data-slider]")) {
  let due = null;
  slider.addEventListener("input", () => {
    moved.set(slider, performance.now());
    // of a drag the latest place alone is told, twenty times a second
    due ??= setTimeout(() => {
      due = null;
      say("set", slider.dataset.slider, Number(slider.value));
    }, 50);
    tellSlider(slider, Number(slider.value));
  });
}

function tellSlider(slider, value) {
  const text = `${Math.abs(value) >= 100 ? value.toFixed(0) : value.toFixed(1)} ${slider.dataset.unit}`;
  const output = slider.parentElement.querySelector("output");
  if (output.textContent !== text) {
    output.textContent = text;
    slider.setAttribute("aria-valuetext", text);
  }
}

function holds(held) {
  const on_ = held.trigger === 1;
  trigger.setAttribute("aria-pressed", String(on_));
  put("trigger-said", on_ ? "pressed" : "released");
  for (const toggle of document.querySelectorAll("[data-control]")) {
    const is = held[toggle.dataset.control] === 1;
    toggle.setAttribute("aria-checked", String(is));
    const said = is ? toggle.dataset.on : toggle.dataset.off;
    const place = toggle.querySelector("b");
    if (place.textContent !== said) place.textContent = said;
  }
  for (const choice of document.querySelectorAll("[data-choice]")) {
    const input = choice.querySelector(`input[value="${held[choice.dataset.choice]}"]`);
    if (input && !input.checked) input.checked = true;
  }
  for (const slider of document.querySelectorAll("[data-slider]")) {
    if (performance.now() - (moved.get(slider) ?? -1e9) < 1000) continue;
    const value = held[slider.dataset.slider];
    if (Math.abs(Number(slider.value) - value) >= Number(slider.step)) slider.value = value;
    tellSlider(slider, value);
  }
}

const list = document.getElementById("broken");
let listed = null;

function broken(names) {
  const text = names.join(" ");
  if (text === listed) return;
  listed = text;
  const focused = document.activeElement?.dataset?.mend;
  list.replaceChildren(...(names.length ? names.map(mendable) : [quiet()]));
  if (focused) (list.querySelector("button") ?? document.getElementById("find")).focus();
  for (const row of document.querySelectorAll("[data-fault]")) {
    row.querySelector("button").setAttribute("aria-pressed", String(names.includes(row.dataset.fault)));
  }
}

function quiet() {
  const item = document.createElement("li");
  item.className = "soft";
  item.textContent = "nothing";
  return item;
}

function mendable(name) {
  const item = document.createElement("li");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = `Mend ${name}`;
  button.dataset.mend = name;
  button.addEventListener("click", () => say("mend", name));
  const happens = document.querySelector(`[data-fault="${name}"] span`)?.textContent ?? "";
  item.append(button, happens);
  return item;
}

for (const row of document.querySelectorAll("[data-fault]")) {
  const button = row.querySelector("button");
  button.addEventListener("click", () => {
    say(button.getAttribute("aria-pressed") === "true" ? "mend" : "break", row.dataset.fault);
  });
}
const find = document.getElementById("find");
find.addEventListener("input", () => {
  const word = find.value.trim().toLowerCase();
  for (const part of document.querySelectorAll("#parts details")) {
    let any = false;
    for (const row of part.querySelectorAll("[data-fault]")) {
      row.hidden = !`${part.textContent.split("(")[0]} ${row.textContent}`.toLowerCase().includes(word);
      any = any || !row.hidden;
    }
    part.hidden = !any;
    part.open = any && word !== "";
  }
});

on("state", (state) => {
  holds(state.held);
  broken(state.broken);
  put("acts", String(state.acts));
});
