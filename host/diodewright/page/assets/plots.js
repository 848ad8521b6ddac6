// The plots: made from the document's own figures, drawn from the bins at most so often a second.

import { on, onRows, say } from "./link.js";
import { Bins } from "./bins.js";

const FRAME_MS = matchMedia("(prefers-reduced-motion: reduce)").matches ? 500 : 50;
// What is scrolled away is not drawn; its figures are told this seldom, for who has them read out.
const UNSEEN_MS = 500;
const columns = document.documentElement.dataset.columns.split(" ");
const bins = new Bins(columns);
const plots = [];
let frame = 0;
let timer = 0;
let drawnAt = 0;

// Counts what a test asks about: frames drawn and rows taken.
export const counted = { frames: 0, rows: 0 };

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

function tick(value) {
  return value === 0 ? "0" : String(Number(value.toPrecision(6)));
}

function made(figure) {
  const box = figure.querySelector(".plot");
  const keys = [...figure.querySelectorAll("li[data-column]")];
  const axis = {
    stroke: colour("soft"),
    grid: { stroke: colour("faint"), width: 1 },
    ticks: { stroke: colour("faint"), width: 1 },
    font: "12px sans-serif",
  };
  const options = {
    width: Math.max(box.clientWidth, 120),
    height: box.clientHeight,
    legend: { show: false },
    cursor: { show: false },
    scales: {
      x: { time: false, range: () => [Math.max(0, bins.end - bins.seconds), Math.max(bins.end, bins.seconds)] },
      y: { range: (_, low, high) => around(low, high) },
    },
    axes: [
      { ...axis, values: (_, splits) => splits.map(tick) },
      { ...axis, size: 52, values: (_, splits) => splits.map(tick) },
    ],
    series: [{}, ...keys.map(series)],
  };
  const wanted = keys.map((key) => columns.indexOf(key.dataset.column));
  const outputs = keys.map((key) => key.querySelector("output"));
  const chart = new window.uPlot(options, bins.drawn(wanted), box);
  return { figure, box, chart, wanted, outputs, seen: true };
}

function series(key) {
  return {
    stroke: colour(key.dataset.colour),
    width: 2,
    dash: key.dataset.dash ? key.dataset.dash.split(" ").map(Number) : undefined,
    points: { show: false },
    spanGaps: false,
  };
}

function around(low, high) {
  if (low === null || high === null) return [0, 1];
  const room = Math.max((high - low) * 0.08, Math.abs(high) * 0.01, 0.02);
  return [low >= 0 && low - room < 0 ? 0 : low - room, high + room];
}

function make() {
  for (const plot of plots.splice(0)) plot.chart.destroy();
  for (const figure of document.querySelectorAll("figure[data-plot]")) plots.push(made(figure));
  const watcher = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      const plot = plots.find((each) => each.figure === entry.target);
      if (plot) plot.seen = entry.isIntersecting;
    }
    askForDrawing();
  }, { rootMargin: "100px" });
  for (const plot of plots) watcher.observe(plot.figure);
  askForDrawing();
}

// Has what is new drawn: soon where a plot is seen, else only now and then.
function askForDrawing() {
  if (frame) return;
  if (plots.some((plot) => plot.seen)) soon();
  else if (!timer) timer = setTimeout(soon, UNSEEN_MS);
}

// A frame is waited for in the place of the timer, never beside it.
function soon() {
  clearTimeout(timer);
  timer = 0;
  frame = requestAnimationFrame(draw);
}

function draw(now) {
  frame = 0;
  if (now - drawnAt < FRAME_MS - 4) {
    askForDrawing();
    return;
  }
  drawnAt = now;
  for (const plot of plots) {
    if (plot.seen) plot.chart.setData(bins.drawn(plot.wanted));
    plot.wanted.forEach((at, index) => {
      const value = bins.last[at];
      plot.outputs[index].textContent = Number.isNaN(value) ? "–" : value.toFixed(Math.abs(value) < 10 ? 3 : 1);
    });
  }
  counted.frames += 1;
}

function fit() {
  for (const plot of plots) {
    plot.chart.setSize({ width: Math.max(plot.box.clientWidth, 120), height: plot.box.clientHeight });
  }
}

export function start() {
  make();
  addEventListener("resize", fit);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", make);
  const choice = document.getElementById("window");
  const told = document.getElementById("gap-told");
  choice.addEventListener("change", () => {
    bins.setWindow(Number(choice.value));
    say("window", "", bins.seconds);
  });
  on("linked", (is) => {
    if (is) say("window", "", bins.seconds);
  });
  onRows((anew, count, values) => {
    if (anew) bins.clear();
    bins.add(count, values);
    counted.rows += count;
    askForDrawing();
    const text = bins.gaps ? "Some data are missing: the lines break off there." : "";
    if (told.textContent !== text) told.textContent = text;
  });
}
