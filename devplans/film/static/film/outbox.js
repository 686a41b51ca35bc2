import { ask } from "../portal/http.js";
import { meantFor, outcomeOf, Waits, whenBack } from "../portal/sending.js";

let serial = 0;

/**
 * What is to be saved, in order, until the server has it: kept on this device over a reload, sent
 * again when the connection is back. Each row may be sent twice, so its address names what it makes.
 */
export class Outbox {
  /**
   * name: one per kind of thing and film; saved(row, answer); refused(row, error); changed(state):
   * "saved", "saving", "waiting" (no connection) or "signed-out".
   */
  constructor(name, { saved, refused, changed, signal, store = localStorage }) {
    Object.assign(this, { saved, refused, changed, signal, store });
    this.person = document.body.dataset.person ?? "";
    this.place = `outbox:${this.person}:${name}:`;
    this.rows = this.read();
    this.waits = new Waits();
    this.asked = new Map();
    whenBack(() => this.again(), signal);
    signal.addEventListener("abort", () => clearTimeout(this.timer));
    if (this.rows.length) this.run();
  }

  read() {
    const found = [];
    try {
      for (const key of Object.keys(this.store)) {
        if (key.startsWith(this.place)) found.push({ ...JSON.parse(this.store.getItem(key)), key });
      }
    } catch {
      // storage may be closed to us; then a reload loses what could not be sent
    }
    return found.sort((one, other) => (one.key < other.key ? -1 : 1));
  }

  /** Resolves to {state: "saved", answer}, {state: "refused", error}, or {state: "waiting" or "signed-out"}. */
  push(method, url, body = null) {
    serial += 1;
    const key = `${this.place}${String(Date.now()).padStart(15, "0")}-${String(serial).padStart(6, "0")}`;
    const row = { method, url, body, key };
    this.rows.push(row);
    try {
      this.store.setItem(key, JSON.stringify({ method, url, body }));
    } catch {
      // as above
    }
    return new Promise((resolve) => {
      this.asked.set(key, resolve);
      this.run();
    });
  }

  again() {
    clearTimeout(this.timer);
    this.timer = null;
    this.run();
  }

  async run() {
    if (this.timer) this.answer(this.rows.at(-1), { state: this.state });
    if (this.running || this.timer) return;
    this.running = true;
    while (this.rows.length) {
      this.changed("saving");
      if (!(await this.send(this.rows[0]))) break;
    }
    this.running = false;
    if (!this.rows.length) this.changed("saved");
  }

  /** False where it is no use to go on with the next one. */
  async send(row) {
    let answer;
    try {
      answer = await ask(row.method, row.url, row.body, meantFor(this.person));
    } catch (error) {
      return this.failed(row, error);
    }
    this.waits.over();
    this.drop(row);
    this.answer(row, { state: "saved", answer });
    this.saved(row, answer);
    return true;
  }

  failed(row, error) {
    const outcome = outcomeOf(error);
    if (outcome === "refused") {
      this.drop(row);
      this.answer(row, { state: "refused", error });
      this.refused(row, error);
      return true;
    }
    this.state = outcome === "lost" ? "waiting" : outcome;
    this.changed(this.state);
    for (const one of this.rows) this.answer(one, { state: this.state });
    // What is kept is sent by the next page.
    if (!this.signal.aborted) this.timer = setTimeout(() => this.again(), this.waits.next());
    return false;
  }

  answer(row, what) {
    this.asked.get(row?.key)?.(what);
    this.asked.delete(row?.key);
  }

  drop(row) {
    this.rows = this.rows.filter((other) => other.key !== row.key);
    try {
      this.store.removeItem(row.key);
    } catch {
      // it was not kept either
    }
  }
}
