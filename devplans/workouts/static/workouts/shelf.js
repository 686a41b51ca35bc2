import { Book, isWorkout } from "./book.js";
import { since } from "./merge.js";
import { outbox } from "./outbox.js";

/** The workout that one person logs for one player just now, among those in the outbox. */
export class Shelf {
  constructor(person, player, box = outbox) {
    Object.assign(this, { person, player, box, id: null, version: 0, seen: null, workout: null });
    box.shelves.add(this);
    box.addEventListener("gone", ({ detail }) => detail.id === this.id && this.#anew(detail.seen));
  }

  /** The one that the address asks for, the one that is not over, or one that was refused. */
  take() {
    const mine = [...this.box.rows.values()].filter((row) => !row.dropped && isWorkout(row.workout, this.player));
    const byAge = mine.sort((one, other) => Date.parse(other.workout.touched_at) - Date.parse(one.workout.touched_at));
    const asked = new URLSearchParams(location.search).get("workout");
    const found = byAge.find((row) => row.id === asked)
      ?? byAge.find((row) => !row.workout.finished) ?? byAge.find((row) => row.state === "look");
    if (!found) return null;
    Object.assign(this, { id: found.id, version: found.version, seen: structuredClone(found.workout) });
    this.box.dispatchEvent(new Event("shelved"));
    const { dirty, revision, acknowledged } = found;
    this.workout = { ...structuredClone(found.workout), revision, acknowledged, changed: dirty };
    return this.workout;
  }

  get holds() {
    return this.id !== null && this.box.row(this.id) !== null;
  }

  /** False where the phone keeps nothing: private windows, a full disk. */
  put(workout) {
    const isSame = this.id === workout.id;
    const before = !isSame && this.holds ? this.box.row(this.id) : null;
    this.workout = workout;
    if (isSame && this.version && !this.holds) {
      // Over and sent from another page: nothing of it comes back by itself.
      if (workout.changed) this.#anew(this.seen);
      return this.box.isKept;
    }
    const [base, seen] = isSame ? [this.version, this.seen] : [0, null];
    Object.assign(this, { id: workout.id, version: base + 1, seen: structuredClone(workout) });
    this.box.put(workout, { base, seen }).catch(() => {});
    // Under a new key it is another workout; the refused one has had its day.
    if (before?.state === "look") this.box.drop(before.id).catch(() => {});
    return this.box.isKept;
  }

  /** Another page has finished the workout: what was counted here since then is another one. */
  #anew(seen) {
    const rest = seen ? since(this.workout, seen) : structuredClone(this.workout);
    // Nothing but other answers: whether they replace the first ones is for somebody to say.
    if (rest.sets.length) new Book(rest, {}).renew();
    Object.assign(this, { id: rest.id, version: 1, seen: structuredClone(rest), workout: rest });
    this.box.put(rest).catch(() => {});
    queueMicrotask(() => this.run?.());
  }

  /** What is not sent can be brought back for a while. */
  clear() {
    const isWaiting = this.holds && this.box.unsent.some((row) => row.id === this.id);
    if (isWaiting) this.box.throwAway(this.id).catch(() => {});
    else if (this.holds) this.box.drop(this.id).catch(() => {});
    Object.assign(this, { id: null, version: 0, seen: null, workout: null });
  }

  /** run() when another page of this phone changed the workout that lies here, or began the one that will. */
  watch(run, signal) {
    this.run = run;
    const begun = (row) => row && !row.dropped && !row.workout.finished && isWorkout(row.workout, this.player);
    const heard = ({ detail: { id } }) => {
      const row = id && this.box.row(id);
      if (this.id === null ? begun(row) : id === this.id && row?.version > this.version) run();
    };
    this.box.addEventListener("change", heard, { signal });
  }
}
