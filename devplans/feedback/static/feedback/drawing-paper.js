/** The sheet that lies on the frame while somebody draws: picture, handles, cursor, pointer. */
import { drawn, element } from "./drawing-svg.js";
import { point, same } from "./drawing-sketch.js";

const XMLNS = "http://www.w3.org/2000/svg";
const HANDLE_PX = 8;
// A press that moves less than this is a press, not a stroke.
const STILL_PX = 6;

function mark(name, attributes) {
  const made = document.createElementNS(XMLNS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

export class Paper {
  /** sheet: the element that is as large as the frame; acts: what presses, strokes, drags ask for. */
  constructor(sheet, { frame, sketch, acts, signal }) {
    Object.assign(this, { sheet, frame, sketch, acts });
    this.cursor = point(0.5, 0.5);
    this.showsCursor = false;
    this.trail = null;
    const on = (name, run) => sheet.addEventListener(name, run, { signal });
    on("pointerdown", (event) => this.down(event));
    on("pointermove", (event) => this.move(event));
    on("pointerup", (event) => this.up(event));
    on("pointercancel", () => this.cancel());
    on("dblclick", (event) => { event.preventDefault(); acts.finish(); });
  }

  draw() {
    const { sketch, frame } = this;
    const shapes = [...sketch.preview(this.showsCursor ? this.cursor : null), ...this.strokeSoFar()];
    this.sheet.replaceChildren(element(drawn(shapes, frame)), this.marks());
  }

  /** The stroke under way as it would end here, in a list; none while it is too short. */
  strokeSoFar() {
    const { tool: kind, colour, stroke } = this.sketch;
    if (!this.trail?.draws) return [];
    const points = this.trail.points.filter((one, index, all) => !index || !same(one, all[index - 1]));
    if (points.length < 2) return [];
    return [{ kind, points: kind === "circle" ? [points[0], points.at(-1)] : points, colour, stroke }];
  }

  marks() {
    const { sketch } = this;
    const [width, height] = sketch.size;
    const unit = width / Math.max(1, this.sheet.clientWidth);
    const all = mark("svg", { viewBox: `0 0 ${width} ${height}`, class: "drawing-marks" });
    const points = sketch.draft?.points ?? sketch.shape?.points ?? [];
    points.forEach((one, index) => {
      const [x, y] = sketch.units(one);
      const isPicked = !sketch.draft && index === sketch.handle;
      all.append(mark("circle", { cx: x, cy: y, r: HANDLE_PX * unit * (isPicked ? 1.3 : 0.8), class: isPicked ? "drawing-handle picked" : "drawing-handle" }));
    });
    if (this.showsCursor) {
      const [x, y] = sketch.units(this.cursor);
      const arm = 14 * unit;
      const path = `M${x - arm} ${y}H${x + arm}M${x} ${y - arm}V${y + arm}`;
      all.append(mark("path", { d: path, class: "drawing-cursor-case" }), mark("path", { d: path, class: "drawing-cursor" }));
    }
    return all;
  }

  place(event) {
    const box = this.sheet.getBoundingClientRect();
    return point((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  }

  down(event) {
    if (event.button || this.trail) return;
    event.preventDefault();
    this.sheet.focus({ preventScroll: true });
    this.sheet.setPointerCapture(event.pointerId);
    const at = this.place(event);
    this.showsCursor = false;
    this.trail = { id: event.pointerId, points: [at], from: [event.clientX, event.clientY], far: false, draws: false };
    if (!this.sketch.draft) this.trail.holds = this.acts.grab(at, this.reach(event));
    this.trail.draws = !this.trail.holds && !this.sketch.draft && ["arrow", "line", "circle", "freehand"].includes(this.sketch.tool);
    this.draw();
  }

  /** A finger needs more room than a mouse; in units. */
  reach(event) {
    const px = event.pointerType === "mouse" ? 10 : 24;
    return (px * this.sketch.size[0]) / Math.max(1, this.sheet.clientWidth);
  }

  move(event) {
    const { trail } = this;
    if (!trail) {
      if (!this.sketch.draft || event.pointerType === "touch") return;
      this.cursor = this.place(event);
      this.showsCursor = true;
      this.draw();
      return;
    }
    if (event.pointerId !== trail.id) return;
    trail.far ||= Math.hypot(event.clientX - trail.from[0], event.clientY - trail.from[1]) > STILL_PX;
    if (!trail.far) return;
    const at = this.place(event);
    if (trail.holds) {
      const last = trail.points.at(-1);
      this.sketch.move(at[0] - last[0], at[1] - last[1]);
      trail.points.push(at);
    } else {
      // A pen tells more places than there are pictures.
      const all = event.getCoalescedEvents?.() ?? [];
      for (const one of all.length ? all : [event]) trail.points.push(this.place(one));
    }
    this.draw();
  }

  up(event) {
    const { trail } = this;
    if (!trail || event.pointerId !== trail.id) return;
    this.trail = null;
    if (trail.holds) this.acts.moved(trail.far);
    else if (trail.far && trail.draws) this.acts.stroke(trail.points);
    else this.acts.press(this.place(event));
    this.draw();
  }

  cancel() {
    this.trail = null;
    this.draw();
  }
}
