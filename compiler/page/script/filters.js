// Which tunes, maps and cells are shown.

// Filter is what was asked for: text in a tune's name, the name of an element that
// moves the cell, a map, the least size of the change, a group; and whether what
// the policy hides is shown.
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
    this.hidden = false;
  }

  // counts says whether a cell differs and isn't hidden.
  counts(table, i) {
    return table.change[i] !== 0 && (this.hidden || !table.hidden.has(i));
  }

  // cell says whether a cell that differs is asked for.
  cell(table, i) {
    if (!this.counts(table, i)) return false;
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

  // gives says which maps and which elements have a cell to show in some tunes:
  // maps that the chosen element moves, elements that move the chosen map.
  gives(tunes) {
    const maps = new Set(), elements = new Set();
    for (const tune of tunes) {
      if (this.group >= 0 && tune.packed.g !== this.group) continue;
      for (const table of tune.tables) {
        if (!table.there) continue;
        const moved = this.moved(table);
        if (moved && (!this.element || moved.has(this.element))) maps.add(table.name);
        if (moved && (!this.map || this.map === table.name)) for (const name of moved) elements.add(name);
      }
    }
    return { maps, elements };
  }

  // moved is the elements with a part in a cell of a table that can be shown; null
  // where no cell can.
  moved(table) {
    const kept = (table.moved ||= {});
    if (kept[this.hidden] === undefined) {
      const cells = [...table.change.keys()].filter((i) => this.counts(table, i));
      const names = (table.packed.p || []).filter(([, column]) => column < 0 || cells.some((i) => table.columns.get(column)[i] !== 0)).map(([e]) => this.elements[e].n);
      kept[this.hidden] = cells.length > 0 ? new Set(names) : null;
    }
    return kept[this.hidden];
  }
}

// filterForm builds the form; changed is called after each change.
function filterForm(data, tunes, filter, changed) {
  const name = make("input", { id: "find", type: "search", autocomplete: "off", spellcheck: "false", placeholder: "part of a name" });
  const names = [...new Set(tunes.flatMap((tune) => tune.tables.map((t) => t.name)))];
  const elements = [...new Set(data.elements.map((e) => e.n))];
  const element = choice("moved by", "by", [["", "anything"]]);
  const map = choice("map", "map", [["", "all maps"]]);
  const hides = tunes.some((tune) => tune.packed.q || tune.tables.some((t) => t.there && t.hidden.size > 0));
  const hidden = make("input", { id: "hidden", type: "checkbox" });
  const least = make("input", { id: "least", type: "number", min: "0", step: "0.5", inputmode: "decimal", placeholder: "0" });
  const clear = make("button", { type: "button", id: "clear" }, "Clear");
  const said = make("p", { id: "count", role: "status" });
  const form = make("form", { class: "filters" },
    make("label", { for: "find" }, make("span", {}, "tune"), name),
    elements.length > 0 ? element : null,
    map,
    make("label", { for: "least", title: "of a cell's value; in maps of degrees or per cent, of the map's largest value" }, make("span", {}, "change of at least, %"), least),
    hides ? make("label", { class: "tick", for: "hidden" }, hidden, make("span", {}, "show what the policy hides")) : null,
    clear);
  const take = () => {
    filter.name = name.value.trim();
    filter.element = element.querySelector("select").value;
    filter.map = map.querySelector("select").value;
    filter.least = Math.max(0, Number(least.value) || 0);
    filter.hidden = hidden.checked;
    changed();
  };
  form.addEventListener("input", take);
  form.addEventListener("submit", (e) => e.preventDefault());
  clear.addEventListener("click", () => {
    form.reset();
    filter.clear();
    changed();
  });
  // fill gives a choice what can be chosen, and keeps what is.
  const fill = (label, first, list) => {
    const select = label.querySelector("select"), kept = list.includes(select.value) ? select.value : "";
    select.replaceChildren(make("option", { value: "" }, first), ...list.map((n) => make("option", { value: n }, n)));
    select.value = kept;
  };
  return {
    node: make("div", {}, form, said),
    reset: (shown) => {
      form.reset();
      hidden.checked = Boolean(shown);
    },
    offer: (list) => {
      for (const again of [false, true]) { // what isn't there any more is chosen no more, which may bring back others
        const gives = filter.gives(list);
        fill(element, "anything", elements.filter((n) => gives.elements.has(n)));
        fill(map, "all maps", names.filter((n) => gives.maps.has(n)));
        const same = filter.element === element.querySelector("select").value && filter.map === map.querySelector("select").value;
        filter.element = element.querySelector("select").value;
        filter.map = map.querySelector("select").value;
        if (same || again) break;
      }
    },
    say: (text) => { said.textContent = text; },
  };
}
