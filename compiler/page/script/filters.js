// Which tunes, maps and cells are shown.

// Filter is what was asked for: text in a tune's name, the name of an element that
// moves the cell, a map, the least size of the change, a group.
class Filter {
  constructor(data) {
    this.elements = data.elements;
    this.clear();
  }

  clear() {
    this.name = "";
    this.element = "";
    this.map = "";
    this.least = 0;
    this.group = -1;
  }

  // cell says whether a cell that differs is asked for.
  cell(table, i) {
    if (table.change[i] === 0 || table.hidden.has(i)) return false;
    if (this.least > 0 && table.size(i) * 100 < this.least - 1e-9) return false;
    return !this.element || table.parts(i).some(([element]) => this.elements[element].n === this.element);
  }

  // worst gives the cell of a table that changes most of those asked for; -1
  // without one.
  worst(table) {
    if (!table.there || (this.map && table.name !== this.map)) return -1;
    let best = -1;
    for (let i = 0; i < table.change.length; i++) {
      if (Math.abs(table.change[i]) > (best < 0 ? 0 : Math.abs(table.change[best])) && this.cell(table, i)) best = i;
    }
    return best;
  }

  // tables gives the maps of a tune that have a cell asked for, with the worst.
  tables(tune) {
    return tune.tables.map((table) => ({ table, worst: this.worst(table) })).filter((x) => x.worst >= 0);
  }

  tune(tune) {
    if (this.group >= 0 && tune.packed.g !== this.group) return false;
    if (!tune.packed.n.toLowerCase().includes(this.name.toLowerCase())) return false;
    if (!this.element && !this.map && !this.least) return true;
    return this.tables(tune).length > 0;
  }
}

// filterForm builds the form; changed is called after each change.
function filterForm(data, tunes, filter, changed) {
  const names = [];
  for (const tune of tunes) for (const t of tune.tables) if (!names.includes(t.name)) names.push(t.name);
  const name = make("input", { id: "find", type: "search", autocomplete: "off", spellcheck: "false", placeholder: "part of a name" });
  const elements = [...new Set(data.elements.map((e) => e.n))];
  const element = choice("moved by", "by", [["", "anything"], ...elements.map((n) => [n, n])]);
  const map = choice("map", "map", [["", "all maps"], ...names.map((n) => [n, n])]);
  const least = make("input", { id: "least", type: "number", min: "0", step: "0.5", inputmode: "decimal", placeholder: "0" });
  const clear = make("button", { type: "button", id: "clear" }, "Clear");
  const said = make("p", { id: "count", role: "status" });
  const form = make("form", { class: "filters" },
    make("label", { for: "find" }, make("span", {}, "tune"), name),
    elements.length > 0 ? element : null,
    map,
    make("label", { for: "least", title: "of a cell's value; in maps of degrees or per cent, of the map's largest value" }, make("span", {}, "change of at least, %"), least),
    clear);
  const take = () => {
    filter.name = name.value.trim();
    filter.element = element.querySelector("select").value;
    filter.map = map.querySelector("select").value;
    filter.least = Math.max(0, Number(least.value) || 0);
    changed();
  };
  form.addEventListener("input", take);
  form.addEventListener("submit", (e) => e.preventDefault());
  clear.addEventListener("click", () => {
    form.reset();
    filter.clear();
    changed();
  });
  return {
    node: make("div", {}, form, said),
    reset: () => form.reset(),
    say: (text) => { said.textContent = text; },
  };
}
