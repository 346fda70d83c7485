// One cell: its values, what moved it, and its chain before and after.

// cellSheet builds what there is to tell of a cell.
function cellSheet(data, columns, table, i) {
  const same = table.change[i] === 0;
  const head = make("p", { class: "cell-head" },
    make("b", {}, table.name + " at " + table.at(i)), " ",
    make("span", { class: "values" }, same ? inUnit(plain(table.after[i], table.decimals), table.head.u) + ", no change"
      : plain(table.before[i], table.decimals) + " → " + inUnit(plain(table.after[i], table.decimals), table.head.u)), " ",
    same ? "" : make("span", { class: "size" }, table.changeText(i)),
    table.hidden.has(i) ? make("span", { class: "note" }, " allowed by the policy") : "");
  const parts = table.parts(i).map(([element, part]) => {
    const e = data.elements[element];
    return make("li", {}, make("b", {}, inUnit(signed(part, table.decimals), table.head.d)), " by " + e.n, e.p ? make("span", { class: "place" }, " " + e.p) : "", e.y ? make("span", { class: "text" }, e.y) : "");
  });
  return [head, parts.length > 0 ? make("ul", { class: "parts" }, ...parts) : "", chains(data, columns, table, i), why(data, table, i)].filter((x) => x !== "");
}

// chains is the table of both chains, a step a row.
function chains(data, columns, table, i) {
  const a = chainOf(data, columns, table, i, 0), b = chainOf(data, columns, table, i, 1);
  if (!a && !b) return make("p", { class: "note" }, "No chain of this cell is in this page.");
  const empty = { base: null, links: [], value: null };
  const [x, y] = [a || empty, b || empty];
  const idle = [], body = make("tbody");
  const [p, q] = [x.base, y.base];
  const same = p && q && p.text === q.text;
  const facts = apart(p ? p.facts : "", q ? q.facts : "");
  const start = (s, own) => (s ? sideCell(same ? "" : s.text, s.value, own) : make("td", { class: "none" }, "not in this page"));
  const moved = p && q && (p.value !== q.value || !same);
  body.append(make("tr", { class: moved ? "differs" : "" }, stepHead("base", [same ? p.text : "", facts.both].filter(Boolean).join("; "), (q || p).place, moved), start(p, facts.own[0]), start(q, facts.own[1])));
  for (const [a, b] of sideBySide(x, y)) {
    if ((!a || a.value === null) && (!b || b.value === null)) idle.push([a, b]);
    else body.append(stepRow(a, b));
  }
  const written = (s, side) => make("td", {}, make("b", { class: "value" }, s.value === null ? "" : plain((side ? table.after : table.before)[i], table.decimals)));
  body.append(make("tr", { class: "written" }, make("th", { scope: "row" }, "written"), written(x, 0), written(y, 1)));
  const node = make("table", { class: "chain" },
    make("caption", {}, "How it comes about" + (x.beside || y.beside ? ": between breakpoints, so of the cell that weighs most" : "") + ". Steps marked ≠ differ."),
    make("thead", {}, make("tr", {}, ...["step", "before", "after"].map((t) => make("th", { scope: "col" }, t)))), body);
  return make("div", {}, node, idle.length > 0 ? idleSteps(idle) : "");
}

// apart parts what two texts of facts both say from what one says alone.
function apart(a, b) {
  const [x, y] = [a, b].map((s) => (s ? s.split("; ") : []));
  const both = x.filter((s) => y.includes(s));
  return { both: both.join("; "), own: [x, y].map((list) => list.filter((s) => !both.includes(s)).join("; ")) };
}

function stepHead(name, text, place, marked) {
  return make("th", { scope: "row" }, marked ? make("span", { class: "mark", title: "differs" }, "≠ ") : "", name,
    place ? make("span", { class: "place" }, " " + place) : "", text ? make("span", { class: "text" }, text) : "");
}

function sideCell(text, value, facts) {
  return make("td", {}, text ? make("span", { class: "did" }, text) : "", value === null ? "" : make("b", { class: "value" }, value), facts ? make("span", { class: "text" }, facts) : "");
}

function stepRow(p, q) {
  const some = q || p;
  const marked = differs(p, q);
  const facts = apart((p && p.facts) || "", (q && q.facts) || "");
  const cell = (s, own) => {
    if (!s) return make("td", { class: "none" }, "isn't there");
    return s.value === null ? make("td", { class: "none" }, s.note) : sideCell(s.did, six(s.value), own);
  };
  const text = [p && q && p.text !== q.text ? p.text + " → " + q.text : some.text, facts.both].filter(Boolean).join("; ");
  return make("tr", { class: marked ? "differs" : "" }, stepHead(stepName(some.step), text, some.place, marked), cell(p, facts.own[0]), cell(q, facts.own[1]));
}

function stepName(step) {
  return step.k === "trim" ? "trim" : step.k + " " + step.n;
}

// idleSteps folds the steps that do nothing on either side.
function idleSteps(list) {
  return make("details", {}, make("summary", {}, counted(list.length, "step") + " that do" + (list.length === 1 ? "es" : "") + " nothing here"),
    make("ul", { class: "idle" }, ...list.map(([p, q]) => {
      const s = q || p;
      return make("li", {}, stepName(s.step) + " ", make("span", { class: "text" }, s.note), make("span", { class: "place" }, " " + s.place));
    })));
}

// why names the command that tells the same, with the limits that see the cell.
function why(data, table, i) {
  const name = table.tune.packed.w;
  if (!name || !data.why) return "";
  const args = [name, table.name];
  if (table.rows) args.push(table.rows.n + "=" + plain(table.rows.p[Math.floor(i / table.width)], -1));
  args.push(table.cols.n + "=" + plain(table.cols.p[i % table.width], -1));
  if (!args.every((x) => /^[\w./=+-]+$/.test(x))) return ""; // a shell might read it otherwise
  return make("p", { class: "command" }, "With the limits that see it: ", make("code", {}, [data.why, "why", ...args].join(" ")));
}
