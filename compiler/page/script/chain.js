// The chain of a cell: how it came to its value, computed from each step's amount
// and weight as the evaluator does it.

// adjust is the meaning of the five adjustments at a weight.
function adjust(step, old, amount, weight) {
  switch (step.o) {
    case "=":
      return weight === 1 ? amount : old + weight * (amount - old);
    case "+=":
      return step.s ? old * (1 + weight * amount) : old + weight * amount;
    case "-=":
      return step.s ? old * (1 - weight * amount) : old - weight * amount;
    case "*=":
      return weight === 1 ? old * amount : old * (1 + weight * (amount - 1));
    case "/=":
      return weight === 1 ? old / amount : old * (1 + weight * (1 / amount - 1));
  }
  return NaN;
}

// nearest finds the breakpoint of a chain's own map that weighs most at a place of
// the compared one.
function nearest(points, x) {
  let best = 0;
  points.forEach((p, i) => {
    if (Math.abs(p - x) < Math.abs(points[best] - x)) best = i;
  });
  return best;
}

// chainOf gives the chain of a table's cell on one side: where it starts, its
// links, and whether it is of a cell beside the one asked for.
function chainOf(data, columns, table, cell, side) {
  const at = table.packed.x ? table.packed.x[side] : -1;
  if (at < 0) return null;
  const chain = data.chains[at], base = data.bases[chain.b];
  const rows = chain.r >= 0 ? data.axes[chain.r].p : null, cols = data.axes[chain.c].p;
  const x = table.cols.p[cell % table.width], y = table.rows ? table.rows.p[Math.floor(cell / table.width)] : 0;
  const col = nearest(cols, x), row = rows ? nearest(rows, y) : 0;
  const i = row * cols.length + col;
  const written = (side ? table.after : table.before)[cell];
  const number = (n, other) => (n === undefined ? other : Array.isArray(n) ? data.reals[n[0]][i] : n);
  const out = { beside: cols[col] !== x || (rows !== null && rows[row] !== y), links: [] };
  const exact = chain.v >= 0;
  let value = exact ? data.reals[chain.v][i] : written;
  out.base = startOf(data, columns, chain, base, i, exact ? six(value) : plain(value, table.decimals));
  for (const link of chain.s) {
    const step = data.steps[link.i];
    const row = { key: step.k + " " + step.n, step, text: step.t, place: step.p, did: "", value: null, note: "" };
    out.links.push(row);
    if (link.n) {
      row.note = data.texts[link.n];
      continue;
    }
    if (step.o === "clamp") {
      const k = (link.c || []).findIndex((c, n) => n % 2 === 0 && c === i);
      if (k < 0) {
        row.note = step.x;
        continue;
      }
      const now = link.c[k + 1];
      row.did = (now <= value ? "capped at " : "raised to ") + inUnit(six(now), step.u);
      value = now;
    } else {
      const weight = number(link.w, 1);
      if (weight === 0) {
        row.note = step.x;
        continue;
      }
      const amount = number(link.a, 0);
      value = adjust(step, value, amount, weight);
      row.did = did(step, amount, weight);
      row.facts = data.texts[link.f || 0];
    }
    row.value = value;
  }
  out.value = value;
  return out;
}

// startOf says where a cell begins.
function startOf(data, columns, chain, base, i, value) {
  if (base.f) {
    const reads = (chain.m || []).map(([name, unit, col]) => data.texts[name] + " is " + inUnit(plain(columns.get(col)[i], -1), data.texts[unit]));
    if (chain.f) reads.push(data.texts[chain.f]);
    return { value, text: "= " + base.f, place: data.texts[base.p || 0], facts: reads.join("; ") };
  }
  const from = base.l && base.l[i];
  return { value, text: from ? "filled in from its neighbours" : "given", place: data.texts[base.q[i]], facts: "" };
}

// did says what an adjustment did: "+ 3 %", "× 0.918", "weight 0.5".
function did(step, amount, weight) {
  let a = step.s ? inUnit(six(amount * 100), "%") : inUnit(six(amount), step.u);
  if (amount < 0 && step.o !== "=") a = "(" + a + ")";
  const sign = { "=": "= ", "*=": "× ", "/=": "÷ " }[step.o] || step.o[0] + " ";
  return sign + a + (weight === 1 ? "" : ", weight " + six(weight));
}

// sideBySide lines two chains up by their steps: the longest run of steps that
// both have, in order, stands beside each other.
function sideBySide(a, b) {
  const x = keyed(a.links), y = keyed(b.links);
  const most = Array.from({ length: x.length + 1 }, () => new Array(y.length + 1).fill(0));
  for (let i = x.length - 1; i >= 0; i--) {
    for (let j = y.length - 1; j >= 0; j--) {
      most[i][j] = x[i].id === y[j].id ? most[i + 1][j + 1] + 1 : Math.max(most[i + 1][j], most[i][j + 1]);
    }
  }
  const out = [];
  let i = 0, j = 0;
  while (i < x.length || j < y.length) {
    if (i < x.length && j < y.length && x[i].id === y[j].id) out.push([x[i++].row, y[j++].row]);
    else if (j >= y.length || (i < x.length && most[i + 1][j] >= most[i][j + 1])) out.push([x[i++].row, null]);
    else out.push([null, y[j++].row]);
  }
  return out;
}

// keyed names each step by its rule and by which of the rule's it is.
function keyed(links) {
  const seen = new Map();
  return links.map((row) => {
    const n = seen.get(row.key) || 0;
    seen.set(row.key, n + 1);
    return { id: row.key + " " + n, row };
  });
}

// differs says whether a step does another thing on the two sides.
function differs(a, b) {
  if (!a || !b) return (a || b).value !== null;
  return a.did !== b.did || (a.value === null) !== (b.value === null);
}
