import { Scrub } from "./scrub.js";
import { drawn, Timeline } from "./timeline.js";

const NEAR_PX = 9;
const CLOSER_MS = [600_000, 120_000];
const AHEAD = 0.15;

/** The line under the film: where it stands, what is marked on it, and the ways to go there. */
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
    this.view = { fromMs: 0, lengthMs: durationMs };
    this.timeline = new Timeline(this.svg, { durationMs });
    this.addStrip(signal);
    this.scrub = Scrub.over(this, { signal });
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(place, "pointerdown", (event) => this.press(event));
    on(place, "pointermove", (event) => this.held && this.go(event));
    on(place, "lostpointercapture", () => { this.held = false; });
    on(this.range, "input", () => seek(Number(this.range.value)));
    on(document, "film:possessions", ({ detail }) => this.drawPossessions(detail.possessions));
    on(document, "film:possession", ({ detail }) => this.timeline.point(detail.id));
    on(document, "film:clock", ({ detail }) => this.timeline.drawBounds(detail.starts));
  }

  setLength(durationMs) {
    this.durationMs = Math.max(1, durationMs);
    this.timeline.setLength(this.durationMs);
    this.look(0, this.durationMs);
    this.draw(this.marks);
    this.drawPossessions(this.possessions ?? []);
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
    const { fromMs, lengthMs } = this.view;
    const perMs = box.width / lengthMs;
    const x = Math.min(Math.max(event.clientX - box.left, 0), box.width);
    const near = this.marks.find((mark) => Math.abs((mark.ms - fromMs) * perMs - x) < NEAR_PX);
    this.seek(near ? near.ms : Math.round(fromMs + x / perMs));
  }

  show(ms, words) {
    this.ms = ms;
    if (!this.held) this.follow(ms);
    if (!this.held || Number(this.range.value) !== ms) this.range.value = String(ms);
    this.range.setAttribute("aria-valuetext", [words, this.aside].filter(Boolean).join(", "));
  }

  /** marks: [{ms, verdict, id}] */
  draw(marks) {
    this.marks = marks;
    this.timeline.drawMarks(marks);
  }

  drawPossessions(possessions) {
    this.possessions = possessions;
    this.place.parentElement.classList.toggle("has-possessions", possessions.length > 0);
    const sides = this.place.parentElement.querySelector(".film-sides");
    if (sides) sides.hidden = possessions.length === 0;
    this.timeline.drawPossessions(possessions);
  }

  drawSpan(startMs, endMs) {
    const has = startMs !== null && endMs !== null;
    this.span.setAttribute("x", has ? this.timeline.share(startMs) : "0");
    this.span.setAttribute("width", has ? this.timeline.share(endMs - startMs) : "0");
  }

  /** Ten minutes, two minutes, the whole film again: what is shorter than that is left out. */
  closer() {
    const steps = [this.durationMs, ...CLOSER_MS.filter((ms) => ms < this.durationMs)];
    const lengthMs = steps[(steps.indexOf(this.view.lengthMs) + 1) % steps.length];
    this.look((this.ms ?? 0) - lengthMs / 2, lengthMs);
    return lengthMs;
  }

  look(fromMs, lengthMs) {
    const last = this.durationMs - lengthMs;
    this.view = { fromMs: Math.min(Math.max(0, Math.round(fromMs)), last), lengthMs };
    this.timeline.look(this.view.fromMs, lengthMs);
    this.range.min = String(this.view.fromMs);
    this.range.max = String(this.view.fromMs + lengthMs);
    this.range.value = String(this.ms ?? 0);
    const isClose = lengthMs < this.durationMs;
    this.place.classList.toggle("is-close", isClose);
    this.strip.toggleAttribute("hidden", !isClose);
    this.pane.setAttribute("x", this.timeline.share(this.view.fromMs));
    this.pane.setAttribute("width", this.timeline.share(lengthMs));
  }

  /** The part that is shown goes along with the film. */
  follow(ms) {
    const { fromMs, lengthMs } = this.view;
    if (ms >= fromMs && ms <= fromMs + lengthMs) return;
    this.look(ms - lengthMs * AHEAD, lengthMs);
  }

  /** The whole film above, while the line shows a part of it. */
  addStrip(signal) {
    this.pane = drawn("rect", { y: 0, height: "100%", class: "film-strip-pane" });
    const rule = drawn("line", { x1: 0, x2: "100%", y1: "50%", y2: "50%", class: "film-strip-rule" });
    this.strip = drawn("svg", { class: "film-strip", "aria-hidden": "true", focusable: "false", hidden: "" }, rule, this.pane);
    this.place.before(this.strip);
    let held = false;
    const move = (event) => {
      const box = this.strip.getBoundingClientRect();
      this.seek(Math.round(Math.min(Math.max(0, (event.clientX - box.left) / box.width), 1) * this.durationMs));
    };
    this.strip.addEventListener("pointerdown", (event) => {
      held = true;
      this.strip.setPointerCapture(event.pointerId);
      move(event);
    }, { signal });
    this.strip.addEventListener("pointermove", (event) => held && move(event), { signal });
    this.strip.addEventListener("lostpointercapture", () => { held = false; }, { signal });
  }
}
