/** Strokes on the picture while somebody talks, whether the film plays or stands. */
import { keepOver } from "../feedback/drawing-place.js";
import { point, same, simplified } from "../feedback/drawing-sketch.js";
import { drawn, element } from "../feedback/drawing-svg.js";

// A press that moves less than this is a press on the picture: it plays or stops.
const STILL_PX = 6;
const SLACK = 0.0012;
const MOST_POINTS = 300;

export class TalkPen {
  /**
   * clock(): the sound's time, ms; drew(at, until, shape) for each stroke. The strokes lie on a
   * layer of their own upon the video until they are wiped.
   */
  constructor(player, { clock, drew, signal }) {
    Object.assign(this, { player, clock, drew });
    const video = player.querySelector("video");
    this.frame = { width: video.videoWidth || 16, height: video.videoHeight || 9 };
    this.shapes = [];
    this.trail = null;
    this.layer = Object.assign(document.createElement("div"), { className: "talk-layer" });
    this.layer.setAttribute("aria-hidden", "true");
    video.after(this.layer);
    keepOver(this.layer, video, this.frame, { signal });
    const on = (name, run) => this.layer.addEventListener(name, run, { signal });
    on("pointerdown", (event) => this.down(event));
    on("pointermove", (event) => this.move(event));
    on("pointerup", (event) => this.up(event));
    on("pointercancel", () => this.finish());
    signal.addEventListener("abort", () => this.layer.remove());
  }

  get isEmpty() {
    return !this.shapes.length && !this.trail;
  }

  place(event) {
    const box = this.layer.getBoundingClientRect();
    return point((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  }

  down(event) {
    if (event.button || this.trail) return;
    event.preventDefault();
    this.layer.setPointerCapture(event.pointerId);
    this.trail = { id: event.pointerId, at: this.clock(), from: [event.clientX, event.clientY], points: [this.place(event)], isFar: false };
  }

  move(event) {
    const { trail } = this;
    if (!trail || event.pointerId !== trail.id) return;
    const moves = event.getCoalescedEvents?.() ?? [];
    for (const one of moves.length ? moves : [event]) {
      const next = this.place(one);
      if (!same(next, trail.points.at(-1))) trail.points.push(next);
    }
    trail.isFar ||= Math.hypot(event.clientX - trail.from[0], event.clientY - trail.from[1]) > STILL_PX;
    this.show();
  }

  up(event) {
    if (!this.trail || event.pointerId !== this.trail.id) return;
    if (this.trail.isFar) this.finish();
    else {
      this.trail = null;
      this.show();
      this.player.toggle();
    }
  }

  /** The stroke under way ends here. */
  finish() {
    const { trail } = this;
    this.trail = null;
    if (trail?.isFar && trail.points.length > 1) {
      const shape = this.shape(trail.points);
      if (shape.points.every((one) => same(one, shape.points[0]))) return this.show();
      this.shapes.push(shape);
      this.drew(trail.at, this.clock(), shape);
    }
    this.show();
  }

  shape(points) {
    let slack = SLACK;
    let found = simplified(points, slack);
    while (found.length > MOST_POINTS) found = simplified(points, slack *= 2);
    return { kind: "freehand", points: found, colour: "chalk", stroke: "solid" };
  }

  show() {
    const trail = this.trail?.isFar && this.trail.points.length > 1 ? [this.shape(this.trail.points)] : [];
    const shapes = [...this.shapes, ...trail];
    this.layer.replaceChildren(...(shapes.length ? [element(drawn(shapes, this.frame))] : []));
  }

  undo() {
    this.trail = null;
    this.shapes.pop();
    this.show();
  }

  wipe() {
    this.finish();
    this.shapes = [];
    this.show();
  }
}
