import { outbox } from "./outbox.js";
import { isConflict } from "./rows.js";

const PAUSE_MS = 1200;

/** Tells how one workout fares in the outbox, and asks to have it sent.
 *  tell(state, message): "waiting", "sending", "saved", "offline", "signed-out", "conflict", "refused". */
export class Sender {
  constructor({ url, tell, store, box = outbox }) {
    Object.assign(this, { tell, store, box, workout: null, timer: null, stopped: new AbortController() });
    if (url) box.url = url;
    box.addEventListener("change", ({ detail }) => this.#heard(detail), { signal: this.stopped.signal });
  }

  /** Something changed: it was kept, is on the disk before anybody is told, and is sent when the taps pause. */
  soon(workout) {
    this.workout = workout;
    this.box.settled().then((isKept) => isKept && workout.changed && this.#waits(workout));
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.now(this.workout), PAUSE_MS);
  }

  /** Another workout, or what another page made of this one. */
  follow(workout) {
    this.workout = workout;
  }

  /** Tells once more how it fares. */
  retell() {
    if (this.workout) this.#heard({ id: this.workout.id });
  }

  /** True once the server has all of it. */
  async now(workout) {
    clearTimeout(this.timer);
    this.workout = workout;
    if (!workout.changed && workout.acknowledged === workout.revision) return true;
    this.store(workout);
    await this.box.drain({ again: true });
    this.#heard({ id: workout.id });
    return this.workout === workout && !workout.changed && workout.acknowledged === workout.revision;
  }

  async remove(workout) {
    clearTimeout(this.timer);
    await this.box.remove(workout.id);
  }

  stop() {
    clearTimeout(this.timer);
    this.stopped.abort();
  }

  #waits({ id }) {
    if (isConflict(this.box.row(id))) this.#heard({ id });
    else this.tell("waiting");
  }

  #heard({ id, sent }) {
    const { workout, box } = this;
    if (!workout || (id && id !== workout.id)) return;
    const row = box.row(workout.id);
    if (!row) {
      // Gone because the server has it, whole.
      if (sent) this.#saved(workout, workout.revision);
      return;
    }
    Object.assign(workout, { revision: row.revision, acknowledged: row.acknowledged, changed: row.dirty });
    if (!row.dirty && row.acknowledged === row.revision) this.tell("saved");
    else if (row.state === "look") this.tell(isConflict(row) ? "conflict" : "refused", row.said);
    else if (box.mood) this.tell(box.mood);
  }

  #saved(workout, revision) {
    const last = Math.max(revision, 1);
    Object.assign(workout, { revision: last, acknowledged: last, changed: false });
    this.tell("saved");
  }
}
