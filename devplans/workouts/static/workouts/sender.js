import { send } from "../portal/http.js";
import { toBody } from "./book.js";

const PAUSE_MS = 1200;
const RETRIES_MS = [3000, 10000, 30000, 60000];

/** Sends a workout whenever it changed, with a higher revision each time, until the server has it.
 *  tell(state, message): "waiting", "sending", "saved", "offline", "signed-out", "conflict", "refused". */
export class Sender {
  constructor({ url, tell, store, transport = send }) {
    Object.assign(this, { url, tell, store, transport, failures: 0, busy: false, timer: null });
  }

  /** Something changed: send it when the taps pause. */
  soon(workout) {
    this.tell("waiting");
    this.#later(() => this.now(workout), PAUSE_MS);
  }

  /** True once the server has all of it. */
  async now(workout) {
    if (this.busy) return false;
    if (!workout.changed && workout.acknowledged === workout.revision) return true;
    clearTimeout(this.timer);
    this.busy = true;
    if (workout.changed) {
      workout.revision += 1;
      workout.changed = false;
    }
    // Kept before it is sent: after a reload the same revision must say the same thing.
    this.store(workout);
    this.tell("sending");
    const { id, revision } = workout;
    try {
      await this.transport("PUT", `${this.url}${id}/`, toBody(workout));
      return this.#sent(workout, revision);
    } catch (error) {
      this.#failed(workout, error);
      return false;
    } finally {
      this.busy = false;
    }
  }

  async remove(workout) {
    clearTimeout(this.timer);
    if (!workout.revision) return;
    try {
      await this.transport("DELETE", `${this.url}${workout.id}/`);
    } catch (error) {
      if (error.status !== 404) throw error;
    }
  }

  stop() {
    clearTimeout(this.timer);
  }

  #sent(workout, revision) {
    this.failures = 0;
    workout.acknowledged = revision;
    this.store(workout);
    if (!workout.changed) {
      this.tell("saved");
      return true;
    }
    this.soon(workout);
    return false;
  }

  #failed(workout, error) {
    const lost = !error.status || error.status >= 500 || error.status === 429;
    if (lost) {
      const wait = RETRIES_MS[Math.min(this.failures, RETRIES_MS.length - 1)];
      this.failures += 1;
      this.tell("offline");
      this.#later(() => this.now(workout), wait);
      return;
    }
    const state = { 403: "signed-out", 409: "conflict" }[error.status] ?? "refused";
    this.tell(state, error.message);
  }

  #later(run, wait) {
    clearTimeout(this.timer);
    this.timer = setTimeout(run, wait);
  }
}
