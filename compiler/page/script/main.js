// The part of the page that shows any tune: what is picked, and what follows.

class Explorer {
  constructor(data) {
    this.data = data;
    this.columns = new Columns(data.cols);
    this.tunes = data.tunes.map((packed) => {
      const tune = { packed };
      tune.tables = packed.m.map((m) => new Table(data, this.columns, tune, m));
      return tune;
    });
    this.filter = new Filter(data);
    this.sheet = "change";
    this.surface = new Surface();
    this.form = filterForm(data, this.tunes, this.filter, () => this.filtered());
    document.getElementById("filters").append(this.form.node);
    this.list = make("select", { id: "tunes", size: "12", "aria-label": "tunes, the worst first" });
    this.list.addEventListener("change", () => this.pickTune(this.tunes[Number(this.list.value)]));
    this.main = make("div", { class: "main" });
    this.listed = make("div", { class: "tunes" }, make("label", { for: "tunes" }, "Tunes, the worst first"), this.list);
    document.getElementById("view").append(this.listed, this.main);
    this.filtered();
  }

  // offered are the tunes that can be shown: those that the policy hides whole
  // only when what it hides is asked for.
  offered() { return this.tunes.filter((t) => this.filter.hidden || !t.packed.q); }

  // filtered lists the tunes that are asked for, and picks the first if the one
  // that was picked isn't among them.
  filtered() {
    const offered = this.offered();
    this.form.offer(offered);
    const found = offered.filter((t) => this.filter.tune(t));
    this.list.replaceChildren(...found.map((t) => make("option", { value: this.tunes.indexOf(t), title: t.packed.n }, this.label(t))));
    this.form.say(`${found.length} of ${counted(offered.length, "tune")}` + (this.filter.group >= 0 ? ", of the group chosen above" : ""));
    this.main.hidden = found.length === 0;
    if (found.length > 0) this.pickTune(found.includes(this.tune) ? this.tune : found[0]);
  }

  // label is a tune's name with its worst change.
  label(tune) {
    const best = this.best(tune);
    return best ? `${this.size(best.table, best.worst)}   ${tune.packed.n}` : tune.packed.n;
  }

  size(table, i) {
    return table.shares && table.before[i] !== 0 ? percent(table.change[i] / Math.abs(table.before[i])) : inUnit(signed(table.change[i], table.decimals), table.head.d);
  }

  // best is the map of a tune that changes most, of those asked for: one with
  // cells of its own before one that follows from others.
  best(tune) {
    let best = null;
    for (const x of this.filter.tables(tune)) {
      const weight = (x.table.packed.o ? 2 : 0) + (x.table.top ? Math.abs(x.table.change[x.worst]) / x.table.top : 0);
      if (!best || weight > best.weight) best = { ...x, weight };
    }
    return best;
  }

  pickTune(tune, name, cell) {
    this.tune = tune;
    this.list.value = this.tunes.indexOf(tune);
    const asked = this.filter.tables(tune);
    const kept = asked.find((x) => x.table.name === (name || (this.table && this.table.name)));
    const best = kept || this.best(tune);
    this.table = best ? best.table : tune.tables.find((t) => t.there) || tune.tables[0];
    this.cell = cell !== undefined ? cell : best ? best.worst : 0;
    this.build();
  }

  pickMap(table) {
    this.table = table;
    this.cell = Math.max(0, this.filter.worst(table));
    this.build();
    this.main.querySelector(`.maps [data-value="${CSS.escape(table.name)}"]`).focus();
  }

  // build shows the picked map of the picked tune.
  build() {
    const { tune, table } = this;
    const given = (tune.packed.c || []).map(([name, old, now]) => `${name}: ${old || "none"} → ${now || "none"}`).join(", ");
    const parts = [make("h3", {}, tune.packed.n), given ? make("p", { class: "note" }, given) : ""];
    if (!table) {
      this.main.replaceChildren(...parts.filter(Boolean), make("p", {}, "No cell of this tune is shown."));
      return;
    }
    const maps = tune.tables.map((t) => {
      const worst = this.filter.worst(t);
      return [t.name, t.name, worst >= 0 ? make("span", { class: "size" }, this.size(t, worst)) : ""];
    });
    const byName = (name) => tune.tables.find((t) => t.name === name);
    parts.push(make("div", { class: "maps" }, buttons("maps", maps, table.name, (name) => this.pickMap(byName(name)))));
    for (const note of table.notes) parts.push(make("p", { class: "note" }, note));
    if (!table.there) {
      parts.push(make("p", { class: "note" }, table.problem || `The tables of this tune aren't in this page: ${this.data.call} diff shows them.`));
    } else {
      parts.push(...this.mapParts(table));
    }
    this.main.replaceChildren(...parts.filter(Boolean));
    if (!table.there) return;
    this.picked(this.cell);
    this.heat.reveal(this.cell);
  }

  mapParts(table) {
    table.change; // worked out here, with what the sheets need
    const choices = Object.entries(sheets).filter(([, s]) => !s.share || table.shares).map(([key, s]) => [key, s.title]);
    if (!choices.some(([key]) => key === this.sheet)) this.sheet = "change";
    this.heat = heatTable(table, sheets[this.sheet], this.filter, this.cell, { point: (i) => this.told(i < 0 ? this.cell : i), pick: (i) => this.picked(i) });
    this.sheetNode = make("div", { class: "cell", role: "region", "aria-label": "the cell" });
    this.live = make("p", { class: "unseen", "aria-live": "polite" });
    this.plots = make("div", { class: "plots" });
    return [
      make("div", { class: "sheets" }, buttons("what the table shows", choices, this.sheet, (key) => {
        this.sheet = key;
        this.build();
        this.main.querySelector(`.sheets [data-value="${key}"]`).focus();
      }), key()),
      make("div", { class: "scroll" }, this.heat.node),
      this.live,
      make("div", { class: "plots-around" }, this.plots, this.surface.node),
      this.sheetNode,
    ];
  }

  // picked makes a cell the one that is told of until another is.
  picked(i) {
    this.cell = i;
    this.heat.show(i);
    this.told(i);
    const t = this.table;
    this.live.textContent = `${t.at(i)}: ${plain(t.before[i], t.decimals)} before, ${plain(t.after[i], t.decimals)} after`;
    this.plots.replaceChildren(...slices(t, i));
    this.surface.show(t, i);
  }

  // told shows a cell's chain.
  told(i) {
    this.sheetNode.replaceChildren(...cellSheet(this.data, this.columns, this.table, i));
  }

  // jump shows a cell that the page above names.
  jump(place, name, row, col) {
    const tune = this.tunes[place], table = tune.tables.find((t) => t.name === name);
    const hidden = Boolean(tune.packed.q || (table && table.there && table.hidden.has(row * table.width + col)));
    this.form.reset(hidden);
    this.filter.clear();
    this.filter.hidden = hidden;
    this.filtered();
    if (!table || !table.there) return;
    this.pickTune(tune, name, row * table.width + col);
    this.heat.focus(this.cell);
    this.inView();
    this.heat.reveal(this.cell);
  }

  // inView scrolls to the picked tune's name, or past it where the table would then
  // reach under the cell's panel.
  inView() {
    const head = this.main.querySelector("h3"), box = this.heat.node.parentElement;
    const high = box.getBoundingClientRect().bottom - head.getBoundingClientRect().top;
    const fits = high <= window.innerHeight - this.sheetNode.offsetHeight - 8;
    (fits ? head : this.main.querySelector(".sheets")).scrollIntoView();
  }

  only(group) {
    this.form.reset();
    this.filter.clear();
    this.filter.group = group;
    this.filtered();
    document.getElementById("explore").scrollIntoView();
    this.list.focus();
  }
}

// key says what the shades mean.
function key() {
  const shades = ["n5", "n3", "n1", "", "p1", "p3", "p5"].map((c) => make("i", { class: c }));
  return make("span", { class: "shades", "aria-hidden": "true" }, "less ", ...shades, " more");
}

async function start() {
  const section = document.getElementById("explore");
  if (!section) return;
  const explorer = new Explorer(await read(document.getElementById("data")));
  section.hidden = false;
  document.documentElement.classList.add("shown");
  if (explorer.tune) explorer.build(); // now that there is room to see
  document.addEventListener("click", (e) => {
    const jump = e.target.closest(".jump"), only = e.target.closest(".only");
    if (jump) explorer.jump(Number(jump.dataset.tune), jump.dataset.map, Number(jump.dataset.row), Number(jump.dataset.col));
    if (only) explorer.only(Number(only.dataset.group));
  });
  openForPaper();
}

// openForPaper opens what is folded while the page is printed.
function openForPaper() {
  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = [...document.querySelectorAll("details:not([open])")];
    for (const d of closed) d.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const d of closed) d.open = false;
  });
}

start().catch((e) => {
  const trouble = document.getElementById("trouble");
  trouble.textContent = `This browser can't show every tune here (${e.message}). The page above and below is whole without it.`;
  trouble.hidden = false;
});
