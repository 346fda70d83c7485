// Slices: a map along one axis through a cell, before and after.

const plot = { width: 340, height: 220, left: 44, right: 12, top: 12, bottom: 38 };

// slices are the plots through a cell: along its row, and along its column.
function slices(table, i) {
  const row = Math.floor(i / table.width), col = i % table.width;
  const along = (axis, at, held) => slice(table, axis, at, held);
  const out = [along(table.cols, (k) => row * table.width + k, table.rows ? onAxis(table.rows, row) : "").draw(col)];
  if (table.rows) out.push(along(table.rows, (k) => k * table.width + col, onAxis(table.cols, col)).draw(row));
  return out;
}

function slice(table, axis, at, held) {
  const points = axis.p.map((x, k) => ({ x, before: table.before[at(k)], after: table.after[at(k)] }));
  const xs = points.map((p) => p.x);
  const all = points.flatMap((p) => [p.before, p.after]);
  const ticks = niceTicks(Math.min(...all), Math.max(...all));
  const [lo, hi] = [Math.min(ticks[0], ...all), Math.max(ticks[ticks.length - 1], ...all)];
  const [x0, x1] = [Math.min(...xs), Math.max(...xs)];
  const X = (x) => plot.left + (x1 === x0 ? 0.5 : (x - x0) / (x1 - x0)) * (plot.width - plot.left - plot.right);
  const Y = (y) => plot.height - plot.bottom - (hi === lo ? 0.5 : (y - lo) / (hi - lo)) * (plot.height - plot.top - plot.bottom);
  const line = (side) => points.map((p, k) => (k ? "L" : "M") + round(X(p.x)) + " " + round(Y(p[side]))).join("");
  return { draw: (k) => frame(table, axis, held, points[k], { ticks, xs, X, Y, line, points }) };
}

function frame(table, axis, held, here, { ticks, xs, X, Y, line, points }) {
  const name = `${bracketed(table.name, table.head.u)} along ${axis.n}` + (held ? ` at ${held}` : "");
  const said = `${name}, before dashed and after solid; here ${plain(here.before, table.decimals)} before and ${plain(here.after, table.decimals)} after`;
  const node = svg("svg", { viewBox: `0 0 ${plot.width} ${plot.height}`, role: "img", "aria-label": said, class: "plot" });
  for (const t of ticks) {
    node.append(svg("line", { class: "grid", x1: plot.left, x2: plot.width - plot.right, y1: Y(t), y2: Y(t) }),
      svg("text", { class: "tick", x: plot.left - 6, y: Y(t) + 4, "text-anchor": "end" }, six(t)));
  }
  let last = -Infinity;
  for (const x of xs) {
    if (X(x) - last < 40) continue;
    last = X(x);
    node.append(svg("text", { class: "tick", x: X(x), y: plot.height - plot.bottom + 16, "text-anchor": "middle" }, plain(x, -1)));
  }
  node.append(svg("text", { class: "tick", x: plot.width - plot.right, y: plot.height - 6, "text-anchor": "end" }, bracketed(axis.n, axis.u)));
  for (const [d, less] of between(points, X, Y)) node.append(svg("path", { class: less ? "fill less" : "fill more", d }));
  node.append(svg("line", { class: "here", x1: X(here.x), x2: X(here.x), y1: plot.top, y2: plot.height - plot.bottom }),
    svg("path", { class: "line before", d: line("before") }), svg("path", { class: "line after", d: line("after") }),
    svg("circle", { class: "dot before", cx: X(here.x), cy: Y(here.before), r: 4 }), svg("circle", { class: "dot after", cx: X(here.x), cy: Y(here.after), r: 4 }));
  return make("figure", {}, make("figcaption", {}, name, ". ", make("span", { class: "key before" }, "before"), " ", make("span", { class: "key after" }, "after")), node);
}

// between gives the areas between the lines, stretch by stretch, each with
// whether the value became less there. Where the lines cross, a stretch is cut.
function between(points, X, Y) {
  const out = [];
  const area = (p, q) => {
    const d = p.after - p.before + (q.after - q.before);
    if (d === 0) return;
    out.push([`M${round(X(p.x))} ${round(Y(p.before))}L${round(X(q.x))} ${round(Y(q.before))}L${round(X(q.x))} ${round(Y(q.after))}L${round(X(p.x))} ${round(Y(p.after))}Z`, d < 0]);
  };
  for (let k = 1; k < points.length; k++) {
    const p = points[k - 1], q = points[k], a = p.after - p.before, b = q.after - q.before;
    if (a * b >= 0) {
      area(p, q);
      continue;
    }
    const f = a / (a - b), y = p.before + f * (q.before - p.before);
    const cross = { x: p.x + f * (q.x - p.x), before: y, after: y };
    area(p, cross);
    area(cross, q);
  }
  return out;
}

// niceTicks are about four round numbers that span a range.
function niceTicks(lo, hi) {
  if (lo === hi) return [lo];
  const raw = (hi - lo) / 4, power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((m) => m * power).find((s) => s >= raw);
  const out = [];
  for (let n = Math.floor(lo / step); n <= Math.ceil(hi / step); n++) out.push(Number((n * step).toPrecision(12)));
  return out;
}

function round(x) {
  return Math.round(x * 10) / 10;
}
