const SVG = "http://www.w3.org/2000/svg";
const NEAR_PX = 9;

function drawn(name, attributes, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

function shape(verdict) {
  if (verdict === "note") return drawn("path", { d: "M-6.5 0h13", class: "film-note" });
  return drawn("circle", { r: 5.5, class: verdict === "did_it" ? "film-did" : "film-not-yet" });
}

/** The line under the film: where it stands, the marks of its comments, the span being marked. */
export class Line {
  /** place: element with svg and range; seek(ms): what a press on the line asks for. */
  constructor(place, { durationMs, seek, signal }) {
    this.place = place;
    this.range = place.querySelector("input");
    this.svg = place.querySelector("svg");
    this.span = place.querySelector(".film-marked");
    this.durationMs = durationMs;
    this.seek = seek;
    this.marks = [];
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(place, "pointerdown", (event) => this.press(event));
    on(place, "pointermove", (event) => this.held && this.go(event));
    on(place, "lostpointercapture", () => { this.held = false; });
    on(this.range, "input", () => seek(Number(this.range.value)));
  }

  press(event) {
    if (event.button) return;
    this.held = true;
    this.place.setPointerCapture(event.pointerId);
    this.range.focus({ preventScroll: true });
    event.preventDefault();
    this.go(event);
  }

  go(event) {
    const box = this.place.getBoundingClientRect();
    const perMs = box.width / this.durationMs;
    const x = Math.min(Math.max(event.clientX - box.left, 0), box.width);
    const near = this.marks.find((mark) => Math.abs(mark.ms * perMs - x) < NEAR_PX);
    this.seek(near ? near.ms : Math.round(x / perMs));
  }

  share(ms) {
    return `${(100 * ms) / this.durationMs}%`;
  }

  show(ms, words) {
    if (!this.held || Number(this.range.value) !== ms) this.range.value = String(ms);
    this.range.setAttribute("aria-valuetext", words);
  }

  /** marks: [{ms, verdict, id}] */
  draw(marks) {
    this.marks = marks;
    for (const old of this.svg.querySelectorAll(".film-mark")) old.remove();
    for (const mark of marks) {
      this.svg.append(drawn("svg", { x: this.share(mark.ms), y: "50%", class: "film-mark" }, shape(mark.verdict)));
    }
  }

  drawSpan(startMs, endMs) {
    const has = startMs !== null && endMs !== null;
    this.span.setAttribute("x", has ? this.share(startMs) : "0");
    this.span.setAttribute("width", has ? this.share(endMs - startMs) : "0");
  }
}
