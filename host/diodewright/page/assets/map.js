// The fault map as it streams in: a cell is touched only where its letter changes.

import { on } from "./link.js";
import { put } from "./words.js";

const table = document.getElementById("map");
const CLASSES = { X: "lost", M: "lost", H: "hard", "?": "blind" };
let head = "";
let cells = new Map();

function begin(moments) {
  if (moments.join() === head) return;
  head = moments.join();
  cells = new Map();
  const line = document.createElement("tr");
  line.append(cell("th", "fault", "col"), ...moments.map((moment) => {
    const top = document.createElement("th");
    top.scope = "col";
    const turned = document.createElement("span");
    turned.textContent = moment;
    top.append(turned);
    return top;
  }));
  table.tHead.replaceChildren(line);
  table.tBodies[0].replaceChildren();
}

// The cells of one fault; a row that comes for the first time is put below the others.
function cellsOf(fault, count) {
  if (!cells.has(fault)) {
    const row = table.tBodies[0].insertRow();
    const own = Array.from({ length: count }, () => document.createElement("td"));
    row.append(cell("th", fault, "row"), ...own);
    cells.set(fault, own);
  }
  return cells.get(fault);
}

function cell(kind, text, scope) {
  const made = document.createElement(kind);
  made.textContent = text;
  made.scope = scope;
  return made;
}

on("tune-map", (map) => {
  begin(map.moments);
  for (const own of cells.values()) own[0].parentElement.classList.add("old");
  for (const [fault, letters] of Object.entries(map.rows)) {
    const own = cellsOf(fault, map.moments.length);
    own[0].parentElement.classList.remove("old");
    own.forEach((place, index) => {
      const code = letters[index];
      if (place.textContent !== code) {
        place.textContent = code;
        place.className = CLASSES[code] ?? "";
      }
    });
  }
  const so = map.whole ? "all" : "so far";
  put("map-said", `${map.cases} cases run, ${so}; ${map.lost} do not survive`);
  document.getElementById("map-lost").replaceChildren(...map.told.map((text) => {
    const item = document.createElement("li");
    item.textContent = text;
    return item;
  }));
});
