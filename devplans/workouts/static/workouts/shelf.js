import { isWorkout } from "./book.js";
import { outbox } from "./outbox.js";

const keysOf = (workout) => [...workout.sets, ...(workout.shots ?? [])].map((one) => one.id);

/** The workout that one person logs for one player just now, among those in the outbox. */
export class Shelf {
  constructor(person, player, box = outbox) {
    Object.assign(this, { person, player, box, id: null, version: 0, known: new Set() });
    box.shelves.add(this);
  }

  /** The one that is not over, else one that was refused and has to be looked at. */
  take() {
    const mine = [...this.box.rows.values()].filter((row) => isWorkout(row.workout, this.player));
    const byAge = mine.sort((one, other) => Date.parse(other.workout.touched_at) - Date.parse(one.workout.touched_at));
    const found = byAge.find((row) => !row.workout.finished) ?? byAge.find((row) => row.state === "look");
    if (!found) return null;
    Object.assign(this, { id: found.id, version: found.version });
    keysOf(found.workout).forEach((key) => this.known.add(key));
    const { dirty, revision, acknowledged } = found;
    return { ...structuredClone(found.workout), revision, acknowledged, changed: dirty };
  }

  get holds() {
    return this.id !== null && this.box.row(this.id) !== null;
  }

  /** False where the phone keeps nothing: private windows, a full disk. */
  put(workout) {
    const before = this.id !== workout.id && this.holds ? this.box.row(this.id) : null;
    // Over and sent from another page: nothing of it comes back by itself.
    if (this.version && this.id === workout.id && !this.holds && !workout.changed) return this.box.isKept;
    const base = this.id === workout.id ? this.version : 0;
    Object.assign(this, { id: workout.id, version: base + 1 });
    keysOf(workout).forEach((key) => this.known.add(key));
    this.box.put(workout, { base, known: new Set(this.known) }).catch(() => {});
    // Under a new key it is another workout; the refused one has had its day.
    if (before?.state === "look") this.box.drop(before.id).catch(() => {});
    return this.box.isKept;
  }

  clear() {
    if (this.holds) this.box.drop(this.id).catch(() => {});
    this.id = null;
  }

  /** run() when another page of this phone changed the workout that lies here. */
  watch(run, signal) {
    const heard = ({ detail }) => detail.id === this.id && this.box.row(this.id)?.version > this.version && run();
    this.box.addEventListener("change", heard, { signal });
  }
}
