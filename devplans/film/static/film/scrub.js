import { clock } from "./times.js";

/**
 * A small picture over the line of the place that is pointed at, dragged to or reached by keys.
 * The pictures lie on sheets in rows, see the data-attributes of the line; a line without them, as
 * that of a film that plays off this device, has none.
 */
export class Scrub {
  static over(line, { signal }) {
    return line.place.dataset.sprite ? new Scrub(line, { signal }) : null;
  }

  constructor(line, { signal }) {
    this.line = line;
    const { sprite, everyMs, count, width, height, columns, onASheet } = line.place.dataset;
    this.address = sprite;
    this.everyMs = Number(everyMs);
    this.count = Number(count);
    this.width = Number(width);
    this.height = Number(height);
    this.columns = Number(columns);
    this.onASheet = Number(onASheet);
    this.build();
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(line.place, "pointermove", (event) => this.point(event));
    on(line.place, "pointerdown", (event) => this.point(event));
    on(line.place, "pointerleave", () => this.rest());
    on(line.place, "lostpointercapture", (event) => event.pointerType !== "mouse" && this.rest());
    // Only keys: a press focuses too, and its picture goes when the pointer goes.
    on(line.range, "input", () => this.show(Number(line.range.value)));
    on(line.range, "focus", () => line.range.matches(":focus-visible") && !line.held && this.show(Number(line.range.value)));
    on(line.range, "blur", () => this.hide());
  }

  build() {
    this.box = document.createElement("div");
    this.box.className = "film-scrub";
    this.box.setAttribute("aria-hidden", "true");
    this.box.hidden = true;
    this.picture = document.createElement("div");
    this.picture.className = "film-scrub-picture";
    this.picture.style.width = `${this.width}px`;
    this.picture.style.height = `${this.height}px`;
    this.time = document.createElement("p");
    this.time.className = "figure";
    this.box.append(this.picture, this.time);
    this.line.place.append(this.box);
  }

  point(event) {
    const box = this.line.place.getBoundingClientRect();
    const x = Math.min(Math.max(event.clientX - box.left, 0), box.width);
    const { fromMs, lengthMs } = this.line.view;
    this.show(Math.round(fromMs + (x / box.width) * lengthMs));
  }

  show(ms) {
    const { fromMs, lengthMs } = this.line.view;
    const number = Math.min(this.count - 1, Math.max(0, Math.floor(ms / this.everyMs)));
    const sheet = Math.floor(number / this.onASheet);
    const onSheet = number % this.onASheet;
    const { style } = this.picture;
    if (sheet !== this.sheet) {
      this.sheet = sheet;
      style.backgroundImage = `url("${this.address}?sheet=${sheet}")`;
    }
    style.backgroundPosition =
      `${-(onSheet % this.columns) * this.width}px ${-Math.floor(onSheet / this.columns) * this.height}px`;
    this.time.textContent = clock(ms);
    this.box.hidden = false;
    const whole = this.line.place.clientWidth;
    const middle = ((ms - fromMs) / lengthMs) * whole;
    const left = Math.max(0, Math.min(whole - this.box.offsetWidth, middle - this.box.offsetWidth / 2));
    this.box.style.left = `${left}px`;
  }

  rest() {
    if (!this.line.held) this.hide();
  }

  hide() {
    this.box.hidden = true;
  }
}
