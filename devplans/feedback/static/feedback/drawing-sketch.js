/**
 * What is being drawn: shapes in fractions of the frame, one that is not finished, what is picked,
 * and the way back. No element of a page in here.
 */
import { frameUnits } from "./drawing-svg.js";

export const LONGEST_TEXT = 60;
const MOST_SHAPES = 40;
const MOST_POINTS = 300;
const PLACES = 10_000;
const FEWEST = { arrow: 2, line: 2, circle: 2, area: 3, freehand: 2, text: 1 };
// In units, the longer side of the frame being 1,000 of them.
const HAND_SHAKES = { freehand: 1.5, arrow: 14, line: 14 };
const NEAR = 16;

function rounded(value) {
  return Math.floor(Math.min(1, Math.max(0, value)) * PLACES + 0.5) / PLACES;
}

export function point(x, y) {
  return [rounded(x), rounded(y)];
}

export function same(one, other) {
  return one[0] === other[0] && one[1] === other[1];
}

function distance([x, y], [otherX, otherY]) {
  return Math.hypot(x - otherX, y - otherY);
}

/** How far `place` lies from the stretch between two points. */
function away(place, from, to) {
  const [x, y] = [to[0] - from[0], to[1] - from[1]];
  const long = x * x + y * y;
  const share = long ? Math.min(1, Math.max(0, ((place[0] - from[0]) * x + (place[1] - from[1]) * y) / long)) : 0;
  return distance(place, [from[0] + share * x, from[1] + share * y]);
}

/** The points that matter of a line drawn by hand (Ramer 1972; Douglas and Peucker 1973). */
export function simplified(points, slack) {
  if (points.length < 3) return points;
  let [far, at] = [0, 0];
  for (let index = 1; index < points.length - 1; index += 1) {
    const off = away(points[index], points[0], points.at(-1));
    if (off > far) [far, at] = [off, index];
  }
  if (far <= slack) return [points[0], points.at(-1)];
  return [...simplified(points.slice(0, at + 1), slack).slice(0, -1), ...simplified(points.slice(at), slack)];
}

export class Sketch {
  /** frame: {width, height} of the upright film. */
  constructor(shapes, frame) {
    Object.assign(this, { shapes, tool: "arrow", colour: "chalk", stroke: "solid", picked: null, handle: null, draft: null });
    this.size = frameUnits(frame.width, frame.height);
    this.past = [];
    this.future = [];
    this.moving = false;
  }

  get shape() {
    return this.picked === null ? null : this.shapes[this.picked];
  }

  get isFull() {
    return this.shapes.length >= MOST_SHAPES;
  }

  change(shapes, { moving = false } = {}) {
    // A shape that is pushed along by many presses goes back in one.
    if (!(moving && this.moving)) this.past.push(this.shapes);
    this.moving = moving;
    this.future = [];
    this.shapes = shapes;
  }

  undo() {
    if (this.draft) {
      this.draft.points.pop();
      if (!this.draft.points.length) this.draft = null;
      return true;
    }
    return this.go(this.past, this.future);
  }

  redo() {
    return this.go(this.future, this.past);
  }

  go(from, to) {
    if (!from.length) return false;
    to.push(this.shapes);
    this.shapes = from.pop();
    this.moving = false;
    if (this.picked !== null && this.picked >= this.shapes.length) this.pick(null);
    return true;
  }

  use(tool) {
    this.finish();
    this.pick(null);
    this.tool = tool;
  }

  /** A point by key or press; true when it finished a shape. Texts come with their words: `add`. */
  place(at) {
    if (this.isFull) return false;
    if (!this.draft) {
      this.draft = { kind: this.tool, points: [at], colour: this.colour, stroke: this.stroke };
      return false;
    }
    const { kind, points } = this.draft;
    const closes = same(at, points.at(-1)) || (kind === "area" && same(at, points[0]));
    if (closes) return this.finish();
    if (points.length < MOST_POINTS) points.push(at);
    return kind === "circle" && this.finish();
  }

  /** Adds the draft, if it has what its kind needs; forgets it else. */
  finish() {
    const { draft } = this;
    this.draft = null;
    if (!draft || draft.points.length < FEWEST[draft.kind]) return false;
    if (draft.kind === "freehand") draft.points = this.handDrawn("freehand", draft.points);
    this.add(draft);
    return true;
  }

  /** A line drawn in one go by mouse, finger or pen. */
  stroked(points) {
    const { tool } = this;
    const found = tool === "circle" ? [points[0], points.at(-1)] : this.handDrawn(tool, points);
    if (tool === "circle" && this.isNear(points[0], points.at(-1))) return false;
    this.draft = { kind: tool, points: found, colour: this.colour, stroke: this.stroke };
    return this.finish();
  }

  handDrawn(kind, points) {
    let slack = HAND_SHAKES[kind] ?? HAND_SHAKES.arrow;
    const units = points.map((one) => this.units(one));
    let kept = simplified(units, slack);
    while (kept.length > MOST_POINTS) kept = simplified(units, slack *= 2);
    const found = kept.map(([x, y]) => point(x / this.size[0], y / this.size[1]));
    return found.filter((one, index) => !index || !same(one, found[index - 1]));
  }

  add(shape) {
    if (this.isFull || shape.points.length < FEWEST[shape.kind]) return;
    this.change([...this.shapes, shape]);
  }

  units([x, y]) {
    return [x * this.size[0], y * this.size[1]];
  }

  isNear(one, other, within = NEAR) {
    return distance(this.units(one), this.units(other)) <= within;
  }

  pick(index) {
    this.picked = index;
    this.handle = null;
    this.moving = false;
  }

  pickNext() {
    if (!this.shapes.length) return;
    this.pick(this.picked === null ? this.shapes.length - 1 : (this.picked || this.shapes.length) - 1);
  }

  nextHandle() {
    if (!this.shape) return;
    const next = this.handle === null ? 0 : this.handle + 1;
    this.handle = next < this.shape.points.length ? next : null;
    this.moving = false;
  }

  /** The shape at a place, the one on top first; null where there is none. */
  at(place, within = NEAR) {
    for (let index = this.shapes.length - 1; index >= 0; index -= 1) {
      if (this.touches(this.shapes[index], this.units(place), within)) return index;
    }
    return null;
  }

  touches({ kind, points, text }, place, within) {
    const places = points.map((one) => this.units(one));
    if (kind === "text") {
      const [[x, y]] = places;
      const [left, right] = x * 2 <= this.size[0] ? [x, x + 18 * text.length] : [x - 18 * text.length, x];
      return place[0] > left - within && place[0] < right + within && place[1] > y - 36 - within && place[1] < y + within;
    }
    if (kind === "circle") {
      const [across, down] = [0, 1].map((axis) => Math.max(8, Math.abs(places[1][axis] - places[0][axis])));
      return Math.hypot((place[0] - places[0][0]) / (across + within), (place[1] - places[0][1]) / (down + within)) <= 1;
    }
    if (kind === "area") places.push(places[0]);
    return places.some((one, index) => index && away(place, places[index - 1], one) <= within);
  }

  /** Moves the handle that is picked, else the whole shape, as far as the frame lets it. */
  move(x, y) {
    const { shape, handle } = this;
    if (!shape) return;
    // A circle hangs on its middle.
    const all = handle === null || (shape.kind === "circle" && handle === 0);
    const limit = (by, axis) => {
      const places = all ? shape.points.map((one) => one[axis]) : [shape.points[handle][axis]];
      return Math.min(Math.max(by, -Math.min(...places)), 1 - Math.max(...places));
    };
    const [right, down] = [limit(x, 0), limit(y, 1)];
    const points = shape.points.map((one, index) => (all || index === handle ? point(one[0] + right, one[1] + down) : one));
    if (points.some((one, index) => index && same(one, points[index - 1]))) return;
    this.put({ ...shape, points }, { moving: true });
  }

  put(shape, how) {
    this.change(this.shapes.map((one, index) => (index === this.picked ? shape : one)), how);
  }

  /** Colour or stroke of what is picked, and of what comes next. */
  restyle(wish) {
    Object.assign(this, wish);
    if (this.draft) Object.assign(this.draft, wish);
    if (this.shape) this.put({ ...this.shape, ...wish });
  }

  /** Takes the point that is picked, where enough of them stay; else the shape. */
  remove() {
    const { shape, handle, picked } = this;
    if (!shape) return false;
    if (handle !== null && shape.kind !== "circle" && shape.points.length > FEWEST[shape.kind]) {
      this.put({ ...shape, points: shape.points.filter((_, index) => index !== handle) });
      this.handle = null;
      return true;
    }
    this.change(this.shapes.filter((_, index) => index !== picked));
    this.pick(null);
    return true;
  }

  /** What is to be seen: the finished shapes, and the draft as it would end at `cursor`. */
  preview(cursor) {
    if (!this.draft) return this.shapes;
    const { points } = this.draft;
    const shown = cursor && !same(cursor, points.at(-1)) ? [...points, cursor] : points;
    if (shown.length < 2) return this.shapes;
    const kind = this.draft.kind === "area" && shown.length < FEWEST.area ? "line" : this.draft.kind;
    return [...this.shapes, { ...this.draft, kind, points: shown }];
  }
}
