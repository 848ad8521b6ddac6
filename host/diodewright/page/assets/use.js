// The curves of a use: chosen and saved, drawn anew where the colours or the width change.

const charts = [];
let last = null;

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

function made(figure) {
  const box = figure.querySelector(".plot");
  const axis = {
    stroke: colour("soft"),
    grid: { stroke: colour("faint"), width: 1 },
    ticks: { stroke: colour("faint"), width: 1 },
    font: "12px sans-serif",
  };
  const line = { width: 2, points: { show: false } };
  const options = {
    width: Math.max(box.clientWidth, 120),
    height: box.clientHeight,
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false }, y: { range: (_, low, high) => [0, (high || 1) * 1.08] } },
    axes: [axis, { ...axis, size: 52 }],
    series: [
      {},
      { ...line, stroke: colour("blue") },
      { ...line, stroke: colour("red"), dash: [7, 4] },
    ],
  };
  return { column: figure.dataset.use, box, chart: new window.uPlot(options, [[], [], []], box) };
}

function make() {
  for (const each of charts.splice(0)) each.chart.destroy();
  for (const figure of document.querySelectorAll("figure[data-use]")) charts.push(made(figure));
  if (last) drawUse(last);
}

export function drawUse(curves) {
  last = curves;
  if (!charts.length) make();
  const base = curves.chosen ?? curves.saved;
  if (!base) return;
  for (const { column, chart } of charts) {
    const of = (curve) => base.time_s.map((_, at) => curve?.[column][at] ?? null);
    chart.setData([base.time_s, of(curves.chosen), of(curves.saved)]);
  }
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => charts.length && make());
addEventListener("resize", () => {
  for (const { box, chart } of charts) {
    chart.setSize({ width: Math.max(box.clientWidth, 120), height: box.clientHeight });
  }
});
