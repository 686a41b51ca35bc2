import { zoneOf } from "./zones.js";

const SVG = "http://www.w3.org/2000/svg";
const DOT = 200;
const CROSS = 190;
const RING = 620;
const SPOT = 420;
const SNAP = 900;
const MOST_DRAWN = 150;
const APART = 380;
const TURN = 2.4;
// As in log.css: there the list stands beside the court.
const BESIDE = "(min-width: 60em)";

function shape(name, attributes) {
  const drawn = document.createElementNS(SVG, name);
  Object.entries(attributes).forEach(([key, value]) => drawn.setAttribute(key, value));
  return drawn;
}

/** The half court of the log: tapped for a place, and a list of the same places for everybody else. */
export class Court {
  /** knowledge: as workouts/log_page.py gives it; stood(place) when somebody chose where he stands. */
  constructor(root, knowledge, { stood, words, signal }) {
    Object.assign(this, { root, knowledge, stood, words });
    this.svg = root.querySelector('[data-part="court"] svg');
    this.list = root.querySelector('[data-part="places"]');
    this.spotList = root.querySelector('[data-part="spots"]');
    this.line = root.querySelector('[data-part="place"]');
    this.layer = this.svg.appendChild(shape("g", {}));
    this.svg.addEventListener("click", (event) => this.#tapped(event), { signal });
    root.addEventListener("change", (event) => this.#listed(event), { signal });
  }

  open(slug) {
    this.spots = this.knowledge.spots[slug] ?? [];
    this.spotList.hidden = !this.spots.length;
    this.#fill(this.spotList, this.spots, "spot");
    if (matchMedia(BESIDE).matches) this.list.closest("details").open = true;
    const listed = new Set(this.spots.map((spot) => spot.name));
    this.#fill(this.list, this.knowledge.places.filter((one) => !listed.has(one.name)), "zone");
  }

  get onlySpot() {
    return this.spots.length === 1 ? placeOf(this.spots[0]) : null;
  }

  /** Said instead of a shot that has no place yet. */
  ask() {
    this.line.textContent = this.words.ask;
    this.line.classList.add("warn");
  }

  draw({ place, shots }) {
    const drawn = this.spots.map((spot) => this.#spot(spot));
    drawn.push(...spread(shots.slice(-MOST_DRAWN), this.knowledge.lines).map((shot) => this.#shot(shot)));
    if (place) drawn.push(this.#standing(place));
    this.layer.replaceChildren(...drawn);
    this.root.querySelectorAll('[name="place"]').forEach((one) => { one.checked = one.value === place?.name; });
    this.line.classList.remove("warn");
    this.line.textContent = place ? this.#words(place, shots) : this.words.tap;
  }

  /** "Left wing, three · 3 of 4 here" */
  #words(place, shots) {
    const zone = this.#zone(place);
    const here = shots.filter((shot) => this.#zone(shot) === zone);
    const made = here.filter((shot) => shot.made).length;
    const spot = this.spots.find((one) => one.name === place.name);
    const name = spot ? spot.words : this.knowledge.zones[zone];
    if (!here.length) return name;
    return this.words.here.replace("{place}", name).replace("{made}", made).replace("{tried}", here.length);
  }

  #zone({ x_mm: x, y_mm: y }) {
    return zoneOf(x, y, this.knowledge.lines).name;
  }

  #tapped(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const { width, baseline, half_length: depth } = this.knowledge.lines;
    const within = (value, low, high) => Math.round(Math.min(high, Math.max(low, value)));
    const side = Math.floor(width / 2);
    const x = within(point.x, -side, side);
    const y = within(point.y, -baseline, depth - baseline);
    const near = this.spots.find((spot) => Math.hypot(spot.x_mm - x, spot.y_mm - y) <= SNAP);
    this.stood(near ? placeOf(near) : { x_mm: x, y_mm: y, name: "" });
  }

  #listed(event) {
    if (event.target.name !== "place") return;
    const chosen = [...this.spots, ...this.knowledge.places].find((one) => one.name === event.target.value);
    this.stood(placeOf(chosen));
  }

  #fill(list, places, kind) {
    const picks = places.map((place) => {
      const label = document.createElement("label");
      label.className = `pick ${kind}`;
      const box = Object.assign(document.createElement("input"), { type: "radio", name: "place", value: place.name });
      label.append(box, ` ${place.words}`);
      return label;
    });
    list.replaceChildren(list.querySelector("legend"), ...picks);
  }

  #spot({ x_mm: cx, y_mm: cy }) {
    return shape("circle", { cx, cy, r: SPOT, class: "spot" });
  }

  #standing({ x_mm: cx, y_mm: cy }) {
    return shape("circle", { cx, cy, r: RING, class: "standing" });
  }

  #shot({ x_mm: x, y_mm: y, made }) {
    if (made) return shape("circle", { cx: x, cy: y, r: DOT, class: "make" });
    const [left, right, top, foot] = [x - CROSS, x + CROSS, y - CROSS, y + CROSS];
    return shape("path", { d: `M${left} ${top}L${right} ${foot}M${right} ${top}L${left} ${foot}`, class: "miss" });
  }
}

/** Shots of one place lie around it like seeds, so that each can be seen; still within the lines. */
function spread(shots, { width, baseline }) {
  const times = new Map();
  return shots.map(({ x_mm: x, y_mm: y, made }) => {
    const before = times.get(`${x} ${y}`) ?? 0;
    times.set(`${x} ${y}`, before + 1);
    const away = APART * Math.sqrt(before);
    const most = width / 2 - DOT;
    const moved = (value, step, low, high) => Math.round(Math.min(high, Math.max(low, value + away * step)));
    return {
      x_mm: moved(x, Math.cos(before * TURN), -most, most),
      y_mm: moved(y, Math.sin(before * TURN), DOT - baseline, Infinity),
      made,
    };
  });
}

function placeOf({ name, x_mm, y_mm }) {
  return { name, x_mm, y_mm };
}
