// A map as a table of shaded cells.

const changeShades = 5, valueShades = 8;

function changeShade(x, darkest) {
  if (x === 0 || darkest === 0) return "";
  const n = Math.max(1, Math.min(Math.ceil((Math.abs(x) / darkest) * changeShades), changeShades));
  return (x < 0 ? "n" : "p") + n;
}

function valueShade(x, lo, hi) {
  if (hi <= lo) return "v0";
  return "v" + Math.max(0, Math.min(Math.floor(((x - lo) / (hi - lo)) * valueShades), valueShades - 1));
}

// sheets are the three tables of a map: what stands in a cell, and its shade.
const sheets = {
  change: {
    title: "Change", share: false,
    caption: (t, tune) => `Change of ${bracketed(t.name, t.head.d)} in ${tune}: after less before. Blank where nothing changes.`,
    text: (t, i) => (t.change[i] === 0 ? "" : signed(t.change[i], t.decimals)),
    shade: (t, i) => changeShade(t.change[i], t.darkest),
  },
  share: {
    title: "Change, %", share: true,
    caption: (t, tune) => `Change of ${t.name} in ${tune}, as a part of the value before, in %. Blank where nothing changes.`,
    text: (t, i) => (t.change[i] === 0 || t.before[i] === 0 ? "" : percent(t.change[i] / Math.abs(t.before[i])).replace(" %", "")),
    shade: (t, i) => changeShade(t.before[i] === 0 ? 0 : t.change[i] / Math.abs(t.before[i]), largestShare(t)),
  },
  before: {
    title: "Before",
    caption: (t, tune) => `Before: ${bracketed(t.name, t.head.u)} in ${tune}.`,
    text: (t, i) => plain(t.before[i], t.decimals),
    shade: (t, i) => valueShade(t.before[i], ...boundsOf(t)),
  },
  after: {
    title: "After",
    caption: (t, tune) => `After: ${bracketed(t.name, t.head.u)} in ${tune}. Bold where it changes.`,
    text: (t, i) => plain(t.after[i], t.decimals),
    shade: (t, i) => valueShade(t.after[i], ...boundsOf(t)) + (t.change[i] === 0 ? "" : " d"),
  },
};

function largestShare(t) {
  return (t.topShare ||= t.change.reduce((most, x, i) => (t.before[i] === 0 ? most : Math.max(most, Math.abs(x / t.before[i]))), mild));
}

function boundsOf(t) {
  if (!t.ends) {
    const all = t.before.concat(t.after);
    t.ends = [all.reduce((a, b) => Math.min(a, b)), all.reduce((a, b) => Math.max(a, b))];
  }
  return t.ends;
}

function bracketed(name, unit) {
  return unit && unit !== name ? `${name} [${unit}]` : name;
}

// heatTable builds a table whose cells can be pointed at, tapped and walked with
// the arrow keys. It calls point with a cell, and pick with one that was chosen.
function heatTable(table, sheet, filter, picked, { point, pick }) {
  const corner = (table.rows ? bracketed(table.rows.n, table.rows.u) + " \\ " : "") + bracketed(table.cols.n, table.cols.u);
  const head = make("tr", {}, make("th", { scope: "col" }, corner), ...table.cols.p.map((p) => make("th", { scope: "col" }, plain(p, -1))));
  const body = make("tbody");
  const cells = [];
  for (let r = 0; r < table.height; r++) {
    const row = make("tr", {}, make("th", { scope: "row" }, table.rows ? plain(table.rows.p[r], -1) : table.name));
    for (let c = 0; c < table.width; c++) {
      const i = r * table.width + c;
      const shade = [sheet.shade(table, i)];
      if (table.change[i] !== 0 && !filter.cell(table, i)) shade.push("out");
      const cell = make("td", { class: shade.join(" ").trim(), tabindex: i === picked ? "0" : "-1" }, sheet.text(table, i));
      cell.dataset.i = i;
      cells.push(cell);
      row.append(cell);
    }
    body.append(row);
  }
  const node = make("table", { class: "heat live" }, make("caption", {}, sheet.caption(table, table.tune.packed.n)), make("thead", {}, head), body);
  const cellOf = (e) => e.target.closest("td");
  const show = (i) => {
    for (const cell of node.querySelectorAll(".at")) cell.classList.remove("at");
    for (const cell of cells) cell.tabIndex = -1;
    cells[i].classList.add("at");
    cells[i].tabIndex = 0;
  };
  show(picked);
  body.addEventListener("mouseover", (e) => cellOf(e) && point(Number(cellOf(e).dataset.i)));
  body.addEventListener("mouseleave", () => point(-1));
  body.addEventListener("click", (e) => cellOf(e) && pick(Number(cellOf(e).dataset.i)));
  body.addEventListener("focusin", (e) => cellOf(e) && pick(Number(cellOf(e).dataset.i)));
  body.addEventListener("keydown", (e) => {
    const i = Number(cellOf(e).dataset.i), row = Math.floor(i / table.width), col = i % table.width;
    const to = {
      ArrowLeft: col > 0 ? i - 1 : i, ArrowRight: col < table.width - 1 ? i + 1 : i,
      ArrowUp: row > 0 ? i - table.width : i, ArrowDown: row < table.height - 1 ? i + table.width : i,
      Home: row * table.width, End: (row + 1) * table.width - 1,
    }[e.key];
    if (to === undefined) return;
    e.preventDefault();
    cells[to].focus();
  });
  const reveal = (i) => {
    const box = node.parentElement;
    box.scrollLeft = Math.max(0, cells[i].offsetLeft - box.clientWidth / 2);
    box.scrollTop = Math.max(0, cells[i].offsetTop - box.clientHeight / 2);
  };
  return { node, show, reveal, focus: (i) => cells[i].focus({ preventScroll: true }) };
}
