/** What is being logged: one workout, its sets, one step back at a time. No page, no network. */
import { newKey } from "../portal/ids.js";

const MOST_STEPS = 100;
const MOST_COUNTED = 10000;

export function newWorkout(player, now = new Date()) {
  return {
    id: newKey(),
    player,
    revision: 0,
    acknowledged: 0,
    changed: false,
    started_at: now.toISOString(),
    touched_at: now.toISOString(),
    minutes: null,
    effort: null,
    kind: "own",
    pain: "",
    note: "",
    finished: false,
    drill: null,
    side: null,
    place: null,
    sets: [],
    shots: [],
  };
}

/** Is this something that `newWorkout` once made for that player? Storage may hold anything. */
export function isWorkout(value, player) {
  return Boolean(value) && value.player === player && typeof value.id === "string" && Array.isArray(value.sets)
    && Number.isInteger(value.revision) && typeof value.started_at === "string";
}

export class Book {
  /** drills: slug -> {name, counts, sides, sets, per_set}; hand: the player's better one. */
  constructor(workout, drills, { hand = "right", now = () => new Date() } = {}) {
    Object.assign(this, { workout, drills, hand, now, steps: [], stepped: 0 });
    workout.shots ??= [];
    workout.place ??= null;
  }

  get drill() {
    return this.drills[this.workout.drill] ?? null;
  }

  get sets() {
    return this.workout.sets.filter((one) => one.drill === this.workout.drill);
  }

  /** The set that is being counted; null between two sets. */
  get open() {
    return this.sets.find((one) => !one.done) ?? null;
  }

  get side() {
    return this.open?.side ?? this.workout.side ?? this.#nextSide();
  }

  /** Shots with a place, of the drill that is being counted. */
  get shots() {
    const sets = new Set(this.sets.map((one) => one.id));
    return this.workout.shots.filter((shot) => sets.has(shot.set));
  }

  get isEmpty() {
    return !this.workout.sets.some(holdsSomething);
  }

  get canUndo() {
    return this.steps.length > 0;
  }

  choose(slug) {
    if (!(slug in this.drills) || slug === this.workout.drill) return;
    this.endSet();
    this.workout.drill = slug;
    this.workout.side = null;
    this.workout.place = null;
  }

  /** The next shots are taken from here until it is moved: {x_mm, y_mm, name}. */
  stand(place) {
    this.workout.place = place;
  }

  turn(side) {
    const open = this.open;
    if (open) this.#step(() => { open.side = side; });
    else this.workout.side = side;
  }

  /** placed: at the place where the player stands. A set has places for all of its shots or for none. */
  made({ placed = false } = {}) {
    this.#shoot(true, placed);
  }

  missed({ placed = false } = {}) {
    this.#shoot(false, placed);
  }

  add(reps) {
    this.#count((one) => { one.reps += reps; });
  }

  /** The whole set at once, with what was counted of it. Returns what is wrong, or nothing. */
  type({ made, tried, reps, seconds }, { placed = false } = {}) {
    const counts = this.drill.counts;
    const wrong = counts === "makes" ? wrongShots(made, tried) : wrongCount(counts === "reps" ? reps : seconds);
    if (wrong) return wrong;
    this.#count((one) => {
      Object.assign(one, numbers(counts, { made, tried, reps, seconds }), { done: true });
      const tapped = this.workout.shots.filter((shot) => shot.set === one.id);
      this.workout.shots = this.workout.shots.filter((shot) => shot.set !== one.id);
      if (placed) this.#placeAll(one, tapped);
    });
    return "";
  }

  endSet() {
    const open = this.open;
    if (open) this.#step(() => { open.done = true; });
  }

  undo() {
    const step = this.steps.pop();
    if (!step) return;
    Object.assign(this.workout, step);
    this.#touch();
  }

  finish(answers) {
    Object.assign(this.workout, answers, { finished: true });
    // A phone whose clock was ahead and has been set right: nothing begins after now.
    const now = this.now().toISOString();
    if (Date.parse(this.workout.started_at) > Date.parse(now)) this.workout.started_at = now;
    this.#touch();
  }

  /** Not finished after all; minutes and effort are answered anew. */
  reopen() {
    Object.assign(this.workout, { finished: false, minutes: null, effort: null });
    this.#touch();
  }

  /** Minutes from the first tap to the last. */
  minutesSoFar() {
    const { started_at: start, touched_at: end } = this.workout;
    return Math.min(600, Math.max(1, Math.round((Date.parse(end) - Date.parse(start)) / 60000)));
  }

  /** The workout gets a key of its own again, and its sets too: the old keys are somebody else's now. */
  renew() {
    Object.assign(this.workout, { id: newKey(), revision: 0, acknowledged: 0, changed: true });
    const keys = new Map(this.workout.sets.map((one) => [one.id, newKey()]));
    this.workout.sets.forEach((one) => { one.id = keys.get(one.id); });
    this.workout.shots = this.workout.shots.map((shot) => ({ ...shot, id: newKey(), set: keys.get(shot.set) }));
    this.steps = [];
  }

  #shoot(made, placed) {
    this.#count((one) => {
      one.made += Number(made);
      one.tried += 1;
      if (placed) this.#place(one, made);
    }, placed);
  }

  #place(one, made) {
    const { x_mm, y_mm } = this.workout.place;
    this.workout.shots.push({ id: newKey(), set: one.id, x_mm, y_mm, made });
  }

  /** Shots that were tapped one by one stay in front, in their order, where the counts allow it; of the rest no
   *  order is known: makes, then misses. */
  #placeAll(one, tapped) {
    const hits = tapped.filter((shot) => shot.made).length;
    const fits = hits <= one.made && tapped.length - hits <= one.tried - one.made;
    const kept = fits ? tapped : [];
    this.workout.shots.push(...kept);
    const makes = one.made - (fits ? hits : 0);
    for (let shot = kept.length; shot < one.tried; shot += 1) this.#place(one, shot - kept.length < makes);
  }

  #count(change, placed = null) {
    this.#step(() => {
      const before = this.open;
      if (before?.tried && placed !== null && this.#hasPlaces(before) !== placed) before.done = true;
      const one = this.open ?? this.#newSet();
      change(one);
      const counted = this.drill.counts === "makes" ? one.tried : one.reps;
      if (this.drill.counts !== "seconds" && counted >= this.drill.per_set) one.done = true;
      this.workout.side = null;
    });
  }

  #hasPlaces(one) {
    return this.workout.shots.some((shot) => shot.set === one.id);
  }

  #newSet() {
    const blank = { makes: { made: 0, tried: 0 }, reps: { reps: 0 }, seconds: { seconds: 0 } }[this.drill.counts];
    const one = { id: newKey(), drill: this.workout.drill, side: this.side, done: false, ...blank };
    if (this.isEmpty) this.workout.started_at = this.now().toISOString();
    this.workout.sets.push(one);
    return one;
  }

  #nextSide() {
    const sides = this.drill?.sides;
    if (sides === "weak") return this.hand === "left" ? "right" : "left";
    if (sides !== "both") return "none";
    return this.sets.at(-1)?.side === "left" ? "right" : "left";
  }

  #step(change) {
    const { sets, shots, drill, side, started_at } = this.workout;
    this.steps.push({ sets: sets.map((one) => ({ ...one })), shots: [...shots], drill, side, started_at });
    if (this.steps.length > MOST_STEPS) this.steps.shift();
    this.stepped += 1;
    change();
    this.#touch();
  }

  #touch() {
    this.workout.touched_at = this.now().toISOString();
    this.workout.changed = true;
  }
}

function holdsSomething(one) {
  return Boolean(one.tried || one.reps || one.seconds);
}

function isCount(value) {
  return Number.isInteger(value) && value >= 0 && value <= MOST_COUNTED;
}

/** Why this is no number of tries, of reps or of seconds; nothing if it is one. */
function wrongCount(value) {
  if (value > MOST_COUNTED) return "too-many";
  return isCount(value) && value > 0 ? "" : "number";
}

function wrongShots(made, tried) {
  if (made > MOST_COUNTED || tried > MOST_COUNTED) return "too-many";
  if (!isCount(made) || wrongCount(tried)) return "number";
  return made > tried ? "more-made" : "";
}

function numbers(counts, { made, tried, reps, seconds }) {
  return { makes: { made, tried }, reps: { reps }, seconds: { seconds } }[counts];
}

/** The workout as the API takes it. Sets in which nothing was counted stay here. */
export function toBody(workout) {
  const { player, revision, started_at, minutes, effort, kind, pain, note } = workout;
  const sets = workout.sets.filter(holdsSomething).map((one) => ({
    id: one.id,
    drill: one.drill,
    side: one.side,
    made: one.made ?? null,
    tried: one.tried ?? null,
    reps: one.reps ?? null,
    seconds: one.seconds ?? null,
  }));
  const sent = new Set(sets.map((one) => one.id));
  const shots = (workout.shots ?? []).filter((shot) => sent.has(shot.set));
  return { player, revision, started_at, minutes, effort, kind, pain, note, sets, shots };
}
