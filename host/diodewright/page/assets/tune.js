// Settings by sliders: what is moved is run by the server; what comes of it is shown beside it.

import { on, say } from "./link.js";
import { put } from "./words.js";
import { drawUse } from "./use.js";

const rows = new Map();
for (const row of document.querySelectorAll(".tuned")) {
  rows.set(row.dataset.key, {
    row,
    slider: row.querySelector('input[type="range"]'),
    exact: row.querySelector('input[type="number"]'),
    back: row.querySelector(".back"),
    spans: row.querySelector(".spans"),
    mark: row.querySelector(".range i"),
    fails: row.querySelector(".fails"),
    start: Number(row.dataset.start),
    movedAt: -1e9,
  });
}
const at = (id) => document.getElementById(id);
const failing = { use: [], faults: [] };
let values = {};
let digest = "";
let looked = false;

const shown = (value) => String(Number(value.toPrecision(6)));

function move(path, value) {
  const own = rows.get(path);
  own.movedAt = performance.now();
  say("tune", path, value);
}

for (const [path, own] of rows) {
  own.slider.addEventListener("input", () => {
    const step = Number(own.row.dataset.step) || 0;
    const raw = Number(own.slider.value);
    const value = step ? Number((Math.round(raw / step) * step).toPrecision(9)) : raw;
    own.exact.value = shown(value);
    own.slider.setAttribute("aria-valuetext", shown(value));
    move(path, value);
  });
  own.exact.addEventListener("change", () => {
    if (own.exact.value !== "") move(path, Number(own.exact.value));
  });
  own.back.addEventListener("click", () => say("tune-back", path));
}

function place(path) {
  const own = rows.get(path);
  const value = values[path] ?? own.start;
  if (performance.now() - own.movedAt > 800) {
    own.slider.value = value;
    if (document.activeElement !== own.exact) own.exact.value = shown(value);
    own.slider.setAttribute("aria-valuetext", shown(value));
  }
  own.back.disabled = !(path in values);
}

function spanned(path, span) {
  const own = rows.get(path);
  const lowest = Number(own.row.dataset.low);
  const highest = Number(own.row.dataset.high);
  const room = 0.08 * (span.high - span.low) || 0.5 * Math.abs(own.start) || 1;
  const low = Math.max(lowest, Math.min(span.low, own.start) - room);
  const high = Math.min(highest, Math.max(span.high, own.start) + room);
  const step = Number(own.row.dataset.step);
  own.slider.min = low;
  own.slider.max = high;
  own.slider.step = step && (high - low) / step < 4000 ? step : (high - low) / 400;
  own.slider.disabled = false;
  own.exact.disabled = false;
  own.mark.style.left = `${(100 * (span.safe_low - low)) / (high - low)}%`;
  own.mark.style.right = `${(100 * (high - span.safe_high)) / (high - low)}%`;
  const safe = span.safe_high > span.safe_low
    ? `guard-banded safe ${shown4(span.safe_low)} to ${shown4(span.safe_high)} (hatched)`
    : "no part is guard-banded safe here but this value";
  const text = `saved ${shown(own.start)}; taken ${shown4(span.low)} to ${shown4(span.high)}; ${safe}`;
  if (own.spans.textContent !== text) own.spans.textContent = text;
  place(path);
}

function tellFails() {
  const by = new Map();
  for (const { key, text } of [...failing.use, ...failing.faults]) {
    by.set(key, [...(by.get(key) ?? []), text]);
  }
  for (const [path, own] of rows) {
    const text = (by.get(path) ?? []).join("\n");
    if (own.fails.textContent !== text) own.fails.textContent = text;
  }
  const word = by.size ? "FAILS" : "HOLDS so far";
  put("tune-word", word);
  at("tune-word").className = by.size ? "FAILS" : "";
}

function figures(list) {
  const body = at("tune-figures");
  while (body.rows.length > list.length && list.length) body.deleteRow(-1);
  list.forEach((figure, index) => {
    const line = body.rows[index] ?? body.insertRow();
    while (line.cells.length < 5) line.insertCell();
    const change = figure.now !== null && figure.chosen !== null ? figure.chosen - figure.now : null;
    const texts = [
      figure.title,
      figure.now === null ? "–" : shown4(figure.now),
      figure.chosen === null ? "–" : shown4(figure.chosen),
      change === null || shown4(figure.now) === shown4(figure.chosen) ? "" : `${change > 0 ? "+" : ""}${Number(change.toPrecision(3))}`,
      figure.unit.replace("degC", "°C"),
    ];
    line.dataset.figure = figure.id;
    line.title = figure.meaning;
    texts.forEach((text, cell) => {
      if (line.cells[cell].textContent !== text) line.cells[cell].textContent = text;
    });
  });
}

const shown4 = (value) => String(Number(value.toPrecision(4)));

on("tune-values", (said) => {
  values = said.values;
  for (const path of rows.keys()) place(path);
  const any = Object.keys(values).length > 0;
  at("tune-show").disabled = !any;
  at("tune-all-back").disabled = !any;
});
on("tune-use", (said) => {
  failing.use = said.fails;
  if (said.fails.some((each) => each.text.startsWith("REFUSED"))) failing.faults = [];
  figures(said.figures);
  drawUse(said.curves);
  tellFails();
  document.querySelector(".tune").dataset.useMs = said.ms;
});
on("tune-faults", (said) => {
  failing.faults = said.fails;
  const letters = Object.entries(said.letters).map(([code, count]) => `${code} ${count}`).join(", ");
  put("tune-faults", said.of ? `${said.survive} of ${said.of} single faults survive: ${letters}` : "no faults run: it gives no light");
  tellFails();
  document.querySelector(".tune").dataset.faultsMs = said.ms;
});
on("tune-doing", (text) => put("tune-doing", text || "all is looked at"));
on("tune-broken", (text) => put("tune-doing", text));
on("tune-change", (said) => {
  digest = said?.digest ?? "";
  put("tune-diff", said ? said.diff : Object.keys(values).length ? "not shown yet" : "nothing is changed");
  at("tune-write").disabled = digest === "";
});
on("tune-written", (said) => {
  put("tune-written", `${said.file} is written; the old text is kept in ${said.kept}`);
  for (const [path, own] of rows) {
    own.start = said.starts[path] ?? own.start;
    place(path);
  }
});
for (const path of rows.keys()) on(`tune-span ${path}`, (span) => spanned(path, span));

at("tune-show").addEventListener("click", () => say("tune-change"));
at("tune-all-back").addEventListener("click", () => say("tune-back"));
at("tune-write").addEventListener("click", () => say("tune-write", digest));

function look() {
  if (looked) say("tune-look");
}

new IntersectionObserver((entries) => {
  if (entries.some((entry) => entry.isIntersecting) && !looked) {
    looked = true;
    look();
  }
}).observe(at("tuned-section"));
on("linked", (is) => {
  if (is) look();
});
