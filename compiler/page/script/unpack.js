// The page's data, unpacked.

// read gives the data: JSON as it stands, or deflated and in base64.
async function read(holder) {
  if (holder.type === "application/json") return JSON.parse(holder.textContent);
  const text = atob(holder.textContent);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return JSON.parse(await new Response(stream).text());
}

// Columns gives columns of numbers. Each is told as what is left of it after a
// guess: a column before it times a scale, or the number before.
class Columns {
  constructor(list) {
    this.list = list;
    this.whole = [];
    this.values = [];
  }

  ints(at) {
    if (this.whole[at]) return this.whole[at];
    const [, from, scale, left] = this.list[at];
    const out = new Array(left.length);
    if (from >= 0) {
      const other = this.ints(from);
      for (let i = 0; i < left.length; i++) out[i] = Math.floor(other[i] * scale + 0.5) + left[i];
    } else {
      let last = 0;
      for (let i = 0; i < left.length; i++) out[i] = last += left[i];
    }
    return (this.whole[at] = out);
  }

  get(at) {
    if (this.values[at]) return this.values[at];
    const packed = this.list[at];
    if (!Array.isArray(packed)) return (this.values[at] = packed.v);
    const power = Number("1e" + packed[0]);
    return (this.values[at] = this.ints(at).map((n) => n / power));
  }
}

// The part of a map's largest value that a change has to come to, to be shaded
// darkest.
const mild = 0.05;

// Table is a map of a tune, with both sides and the change of every cell. It is
// worked out when it is first asked for.
class Table {
  constructor(data, columns, tune, packed) {
    this.data = data;
    this.tune = tune;
    this.packed = packed;
    this.head = data.maps[packed.m];
    this.name = this.head.n;
    this.decimals = packed.d;
    this.notes = packed.t || [];
    this.problem = packed.e || "";
    this.there = packed.a >= 0;
    if (!this.there) return;
    this.rows = packed.r >= 0 ? data.axes[packed.r] : null;
    this.cols = data.axes[packed.c];
    this.width = this.cols.p.length;
    this.height = this.rows ? this.rows.p.length : 1;
    this.columns = columns;
  }

  get before() { return this.columns.get(this.packed.a); }
  get after() { return this.columns.get(this.packed.b); }

  // change is each cell's, as printed: exact as decimals.
  get change() {
    if (!this.made) {
      const a = this.before, b = this.after;
      this.made = a.map((x, i) => (x === b[i] ? 0 : difference(x, b[i], this.decimals)));
      this.top = [a, b].flat().reduce((most, x) => Math.max(most, Math.abs(x)), 0);
      this.darkest = this.made.reduce((most, x) => Math.max(most, Math.abs(x)), mild * this.top);
    }
    return this.made;
  }

  get hidden() { return (this.out ||= new Set(this.packed.h)); }

  // shares says whether changes are told as parts of the value too: not where
  // zero is a point like another, as for degrees, or the unit is per cent.
  get shares() { return this.packed.s === 1; }

  // size is a change as a part: of the value where that makes sense, else of the
  // map's largest value.
  size(i) {
    const d = Math.abs(this.change[i]);
    if (d === 0) return 0;
    const of = this.shares && this.before[i] !== 0 ? Math.abs(this.before[i]) : this.top;
    return of === 0 ? 0 : d / of;
  }

  // parts lists what moved a cell: elements with their part of the change.
  parts(i) {
    if (this.change[i] === 0) return [];
    const out = [];
    for (const [element, column] of this.packed.p || []) {
      const part = column < 0 ? this.change[i] : this.columns.get(column)[i];
      if (part !== 0) out.push([element, part]);
    }
    return out.sort((a, b) => Math.abs(b[1]) - Math.abs(a[1]));
  }

  // at names a cell's place: "throttle 100 %, rpm 11500".
  at(i) {
    const col = onAxis(this.cols, i % this.width);
    return this.rows ? onAxis(this.rows, Math.floor(i / this.width)) + ", " + col : col;
  }

  changeText(i) {
    const d = inUnit(signed(this.change[i], this.decimals), this.head.d);
    return this.shares && this.before[i] !== 0 ? d + ", " + percent(this.change[i] / Math.abs(this.before[i])) : d;
  }
}

// difference is exact as decimals: 15.10 to 15.55 is 0.45.
function difference(a, b, decimals) {
  const many = decimals >= 0 ? decimals : Math.max(digitsBehind(a), digitsBehind(b));
  return Number((b - a).toFixed(Math.min(many, 100)));
}

function digitsBehind(x) {
  return (plain(x, -1).split(".")[1] || "").length;
}

function onAxis(axis, i) {
  const text = axis.n + " " + six(axis.p[i]);
  return axis.u && axis.u !== axis.n ? text + " " + axis.u : text;
}
