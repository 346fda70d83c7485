// The surface: a map seen from the side, its height the value, its shade the
// change. It turns by dragging and by the arrow keys.

class Surface {
  constructor() {
    this.turn = -0.6;
    this.tilt = 0.55;
    this.side = "after";
    this.canvas = make("canvas", { tabindex: "0", role: "img" });
    this.choose = make("div");
    this.caption = make("figcaption");
    this.node = make("figure", { class: "surface" }, this.caption, this.canvas, this.choose);
    this.canvas.addEventListener("pointerdown", (e) => this.grab(e));
    this.canvas.addEventListener("keydown", (e) => this.key(e));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    new ResizeObserver(() => this.draw()).observe(this.canvas);
  }

  show(table, picked) {
    this.table = table;
    this.picked = picked;
    this.node.hidden = !table.rows || table.height < 2 || table.width < 2;
    if (this.node.hidden) return;
    this.choose.replaceChildren(buttons("height", [["before", "Before"], ["after", "After"], ["change", "Change"]], this.side, (side) => {
      this.side = side;
      this.show(this.table, this.picked);
      this.choose.querySelector(`[data-value="${side}"]`).focus();
    }));
    this.caption.textContent = `${bracketed(table.name, table.head.u)} as a surface, shaded by the change. Drag it, or turn it with the arrow keys.`;
    this.canvas.setAttribute("aria-label", `${table.name} ${this.side} as a surface; the tables hold the same numbers. The arrow keys turn it.`);
    this.draw();
  }

  grab(e) {
    let last = [e.clientX, e.clientY];
    const move = (e) => {
      this.rotate((e.clientX - last[0]) * 0.01, (e.clientY - last[1]) * 0.01);
      last = [e.clientX, e.clientY];
    };
    this.canvas.setPointerCapture(e.pointerId);
    this.canvas.addEventListener("pointermove", move);
    const drop = () => this.canvas.removeEventListener("pointermove", move);
    this.canvas.addEventListener("pointerup", drop, { once: true });
    this.canvas.addEventListener("pointercancel", drop, { once: true });
  }

  key(e) {
    const by = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[e.key];
    if (!by) return;
    e.preventDefault();
    this.rotate(...by);
  }

  rotate(turn, tilt) {
    this.turn += turn;
    this.tilt = Math.max(0.1, Math.min(1.4, this.tilt + tilt));
    this.draw();
  }

  // points are the cells' corners, seen: across, up, and how far away.
  points(values, lo, hi) {
    const t = this.table;
    const part = (list, k) => (list[k] - list[0]) / (list[list.length - 1] - list[0]) - 0.5;
    const [s, c] = [Math.sin(this.turn), Math.cos(this.turn)], [u, v] = [Math.sin(this.tilt), Math.cos(this.tilt)];
    return values.map((z, i) => {
      const x = part(t.cols.p, i % t.width), y = part(t.rows.p, Math.floor(i / t.width));
      const h = (hi === lo ? 0 : (z - lo) / (hi - lo) - 0.5) * 0.7;
      const across = x * c - y * s, depth = x * s + y * c;
      return { x: across, y: -(h * v) - depth * u * -1, z: depth * v - h * u };
    });
  }

  draw() {
    const t = this.table;
    if (!t || this.node.hidden) return;
    const { width, height } = this.canvas.getBoundingClientRect();
    if (width === 0) return;
    const dots = window.devicePixelRatio || 1;
    this.canvas.width = width * dots;
    this.canvas.height = height * dots;
    const style = getComputedStyle(this.canvas);
    const colour = (name) => style.getPropertyValue("--" + name).trim();
    const values = t[this.side];
    const [lo, hi] = this.side === "change" ? [Math.min(0, ...values), Math.max(0, ...values)] : boundsOf(t);
    const points = this.points(values, lo, hi);
    const [x0, x1, y0, y1] = ends(points);
    const scale = Math.min((width - 30) / (x1 - x0), (height - 24) / (y1 - y0));
    const at = (p) => [width / 2 + (p.x - (x0 + x1) / 2) * scale, height / 2 + (p.y - (y0 + y1) / 2) * scale];
    const c = this.canvas.getContext("2d");
    c.setTransform(dots, 0, 0, dots, 0, 0);
    c.clearRect(0, 0, width, height);
    c.lineWidth = 0.7;
    for (const q of this.patches(points)) {
      c.beginPath();
      q.corners.forEach((k, n) => (n ? c.lineTo(...at(points[k])) : c.moveTo(...at(points[k]))));
      c.closePath();
      c.fillStyle = colour(q.shade || "card");
      c.strokeStyle = colour("edge");
      c.fill();
      c.stroke();
    }
    const [x, y] = at(points[this.picked]);
    c.beginPath();
    c.arc(x, y, 5, 0, 2 * Math.PI);
    c.lineWidth = 2.5;
    c.strokeStyle = colour("ink");
    c.stroke();
  }

  // patches are the squares between cells, the farthest first, each with the
  // shade of the largest change at its corners.
  patches(points) {
    const t = this.table, out = [];
    for (let r = 0; r + 1 < t.height; r++) {
      for (let c = 0; c + 1 < t.width; c++) {
        const i = r * t.width + c;
        const corners = [i, i + 1, i + t.width + 1, i + t.width];
        const most = corners.reduce((best, k) => (Math.abs(t.change[k]) > Math.abs(best) ? t.change[k] : best), 0);
        out.push({ corners, far: corners.reduce((sum, k) => sum + points[k].z, 0), shade: changeShade(most, t.darkest) });
      }
    }
    return out.sort((a, b) => b.far - a.far);
  }
}

// ends are where points end: left, right, top, bottom.
function ends(points) {
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y);
  return [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
}
