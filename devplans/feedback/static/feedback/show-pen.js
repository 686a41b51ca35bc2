const SVG = "http://www.w3.org/2000/svg";
// A light core in a dark casing stands out from every floor.
const CASING = ["#14181F", 10];
const CORE = ["#FFF3C4", 5];

/** Freehand strokes over a stopped picture; gone as soon as they are wiped. Nothing is kept. */
export class Pen {
  constructor(svg) {
    this.svg = svg;
    this.strokes = [];
  }

  get isEmpty() {
    return this.strokes.length === 0;
  }

  place({ clientX, clientY }) {
    const box = this.svg.getBoundingClientRect();
    return `${Math.round(clientX - box.left)},${Math.round(clientY - box.top)}`;
  }

  begin(event) {
    const stroke = document.createElementNS(SVG, "g");
    for (const [colour, width] of [CASING, CORE]) {
      const line = document.createElementNS(SVG, "polyline");
      const looks = { fill: "none", stroke: colour, "stroke-width": width, "stroke-linecap": "round", "stroke-linejoin": "round" };
      for (const [name, value] of Object.entries(looks)) line.setAttribute(name, String(value));
      stroke.append(line);
    }
    this.points = [this.place(event)];
    this.svg.append(stroke);
    this.strokes.push(stroke);
  }

  draw(event) {
    const moves = event.getCoalescedEvents?.() ?? [];
    for (const move of moves.length ? moves : [event]) this.points.push(this.place(move));
    for (const line of this.strokes.at(-1).children) line.setAttribute("points", this.points.join(" "));
  }

  undo() {
    this.strokes.pop()?.remove();
  }

  wipe() {
    this.strokes = [];
    this.svg.replaceChildren();
  }
}
