import { ask } from "../portal/http.js";

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 30_000;
const NO_ANSWER = new Set([0, 408, 429]);
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
    Object.assign(this, { saved, refused, changed, store });
    this.place = `outbox:${document.body.dataset.person ?? ""}:${name}:`;
    this.rows = this.read();
    this.wait = FIRST_WAIT_MS;
    this.asked = new Map();
    addEventListener("online", () => this.again(), { signal });
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

  /** Resolves to {state: "saved", answer}, {state: "refused", error} or {state: "waiting"}. */
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
    if (this.running || this.timer) {
      if (this.timer) this.answer(this.rows.at(-1), { state: "waiting" });
      return;
    }
    this.running = true;
    while (this.rows.length) {
      this.changed("saving");
      const row = this.rows[0];
      try {
        this.took(row, await ask(row.method, row.url, row.body));
      } catch (error) {
        if (NO_ANSWER.has(error.status) || error.status >= 500) {
          this.later(error);
          break;
        }
        this.drop(row);
        this.answer(row, { state: "refused", error });
        this.refused(row, error);
      }
    }
    this.running = false;
    if (!this.rows.length) this.changed("saved");
  }

  took(row, answer) {
    this.wait = FIRST_WAIT_MS;
    this.drop(row);
    this.answer(row, { state: "saved", answer });
    this.saved(row, answer);
  }

  later(error) {
    this.changed(error.isPage ? "signed-out" : "waiting");
    for (const row of this.rows) this.answer(row, { state: "waiting" });
    this.timer = setTimeout(() => this.again(), this.wait);
    this.wait = Math.min(LONGEST_WAIT_MS, this.wait * 2);
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
