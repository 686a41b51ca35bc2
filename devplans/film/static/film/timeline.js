const SVG = "http://www.w3.org/2000/svg";

export function drawn(name, attributes, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

function shape(verdict) {
  if (verdict === "note") return drawn("path", { d: "M-6.5 0h13", class: "film-note" });
  return drawn("circle", { r: 5.5, class: verdict === "did_it" ? "film-did" : "film-not-yet" });
}

/**
 * The drawing of a whole film on one line: strokes above it where the ball is ours and below where
 * it is theirs, the marks of the comments on it, the bounds of the periods. All places are shares of
 * the film inside one inner drawing, so that coming closer moves that alone.
 */
export class Timeline {
  constructor(svg, { durationMs }) {
    this.durationMs = durationMs;
    this.strokes = new Map();
    this.layers = {};
    this.view = drawn("svg", { class: "film-view", x: 0, y: 0, width: "100%", height: "100%" });
    for (const name of ["bounds", "strokes", "span", "marks"]) {
      this.layers[name] = drawn("g", { class: `film-${name}-layer` });
      this.view.append(this.layers[name]);
    }
    const span = svg.querySelector(".film-marked");
    if (span) this.layers.span.append(span);
    svg.append(this.view);
  }

  setLength(durationMs) {
    this.durationMs = durationMs;
    for (const { drawing } of this.strokes.values()) drawing.remove();
    this.strokes.clear();
  }

  share(ms) {
    return `${(100 * ms) / this.durationMs}%`;
  }

  /** Show only from `fromMs` on for `lengthMs`. */
  look(fromMs, lengthMs) {
    this.view.setAttribute("x", `${(-100 * fromMs) / lengthMs}%`);
    this.view.setAttribute("width", `${(100 * this.durationMs) / lengthMs}%`);
  }

  drawMarks(marks) {
    this.layers.marks.replaceChildren(...marks.map((mark) =>
      drawn("svg", { x: this.share(mark.ms), y: "50%", class: "film-mark" }, shape(mark.verdict))));
  }

  /** rows: [{id, side, startMs, endMs}]; only what changed is drawn again. */
  drawPossessions(rows) {
    const kept = new Set(rows.map((row) => row.id));
    for (const [id, stroke] of this.strokes) {
      if (kept.has(id)) continue;
      stroke.drawing.remove();
      this.strokes.delete(id);
    }
    for (const row of rows) {
      const said = `${row.side} ${row.startMs} ${row.endMs}`;
      const old = this.strokes.get(row.id);
      if (old?.said === said) continue;
      const drawing = this.stroke(row);
      if (old) old.drawing.replaceWith(drawing);
      else this.layers.strokes.append(drawing);
      this.strokes.set(row.id, { said, drawing });
    }
  }

  stroke({ side, startMs, endMs }) {
    const [x, far] = [this.share(startMs), this.share(endMs ?? startMs)];
    const y = side === "ours" ? "12%" : "88%";
    return drawn("g", { class: `film-stroke film-${side}` },
      drawn("line", { x1: x, x2: x, y1: "50%", y2: y, class: "film-stroke-start" }),
      drawn("line", { x1: x, x2: far, y1: y, y2: y, class: "film-stroke-length" }));
  }

  /** Which possession the film is in, null for none. */
  point(id) {
    this.pointed?.classList.remove("now");
    this.pointed = this.strokes.get(id)?.drawing ?? null;
    this.pointed?.classList.add("now");
  }

  /** starts: [{ms, name}] of the periods. */
  drawBounds(starts) {
    this.layers.bounds.replaceChildren(...starts.map(({ ms, name }) => {
      const text = drawn("text", { x: this.share(ms), y: "100%", dx: 4, dy: -2, class: "film-bound-name" });
      text.textContent = name;
      const x = this.share(ms);
      return drawn("g", {}, drawn("line", { x1: x, x2: x, y1: 0, y2: "100%", class: "film-bound" }), text);
    }));
  }
}
