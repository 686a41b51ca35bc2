import { ask } from "../portal/http.js";
import { LONGEST_WAIT_MS, meantFor, outcomeOf, Waits } from "../portal/sending.js";

const MOST_AT_ONCE = 200;

/**
 * Marks on their way to the server. Each one lies in this browser's storage under a key of its own
 * until the server has it, so that neither a reload nor a lost connection nor a second tab loses it.
 * tell({state, waiting, message}): state "sent", "sending", "offline", "signed-out" or "refused".
 */
export class Outbox {
  constructor(tally, { url, tell, owner = "", store = localStorage, transport = ask }) {
    Object.assign(this, { url, tell, owner, store, transport });
    this.prefix = `tally:${owner}:${tally}:`;
    this.memory = new Map();
    this.unkept = false;
    this.refused = new Map();
    this.waits = new Waits();
    this.running = null;
  }

  keys() {
    try {
      return Object.keys(this.store).filter((key) => key.startsWith(this.prefix));
    } catch {
      return [];
    }
  }

  read(key) {
    try {
      return JSON.parse(this.store.getItem(key));
    } catch {
      return null;
    }
  }

  write(name, value) {
    this.memory.set(name, value);
    try {
      this.store.setItem(this.prefix + name, JSON.stringify(value));
    } catch {
      // Full or closed storage: the mark then lasts as long as the page, which says so.
      this.unkept = true;
    }
  }

  drop(name) {
    this.memory.delete(name);
    try {
      this.store.removeItem(this.prefix + name);
    } catch {
      // nothing was kept there
    }
  }

  /** Everything that waits, of this page and of those before it: name -> value. */
  all() {
    const found = new Map();
    for (const key of this.keys()) {
      const value = this.read(key);
      if (value) found.set(key.slice(this.prefix.length), value);
    }
    for (const [name, value] of this.memory) found.set(name, value);
    return found;
  }

  /** Marks that wait, the oldest first. */
  marks() {
    const rows = [...this.all()].filter(([name]) => name !== "watched").map(([, value]) => value);
    return rows.sort((one, other) => (one.at < other.at ? -1 : 1));
  }

  put(mark) {
    this.refused.delete(mark.id);
    this.write(mark.id, mark);
    this.flush();
  }

  /** How far the film was watched: told with the next marks, or soon. */
  watched({ seen, reachedMs }) {
    this.write("watched", { seen, reached_ms: reachedMs });
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.flush(), 1500);
  }

  get waiting() {
    return this.marks().filter((mark) => !this.refused.has(mark.id)).length;
  }

  /** Throw away what the server does not want. */
  forget(id) {
    this.refused.delete(id);
    this.drop(id);
    this.say(this.refused.size ? "refused" : "sent");
  }

  /** Send what waits; true once the server has all of it. One sending at a time. */
  flush() {
    this.again = true;
    this.running ??= this.run().finally(() => { this.running = null; });
    return this.running;
  }

  async run() {
    clearTimeout(this.timer);
    while (this.again || this.waiting) {
      this.again = false;
      const marks = this.marks().filter((mark) => !this.refused.has(mark.id)).slice(0, MOST_AT_ONCE);
      const watched = this.all().get("watched");
      if (!marks.length && !watched) break;
      if (marks.length) this.say("sending");
      let answer;
      try {
        answer = await this.transport("POST", this.url, { marks, ...watched }, meantFor(this.owner));
        if (!answer.refused) throw Object.assign(new Error("not from us"), { status: 0 });
      } catch (error) {
        this.failed(error);
        return false;
      }
      this.sent(marks, watched, answer);
    }
    this.say(this.refused.size ? "refused" : "sent");
    return !this.refused.size;
  }

  sent(marks, watched, answer) {
    this.waits.over();
    const now = this.all();
    for (const mark of marks) {
      const why = answer.refused[mark.id];
      if (why) this.refused.set(mark.id, why);
      // Undone while it was on its way: the undoing has yet to be sent.
      else if (now.get(mark.id)?.undone === mark.undone) this.drop(mark.id);
    }
    if (watched && JSON.stringify(now.get("watched")) === JSON.stringify(watched)) this.drop("watched");
  }

  failed(error) {
    const outcome = outcomeOf(error);
    const wait = outcome === "lost" ? this.waits.next() : LONGEST_WAIT_MS;
    if (!this.isStopped) this.timer = setTimeout(() => this.flush(), wait);
    this.say(outcome === "lost" ? "offline" : outcome, error.message);
  }

  say(state, message = "") {
    const why = message || [...this.refused.values()][0] || "";
    this.tell({ state, waiting: this.waiting, message: why, unkept: this.unkept });
  }

  stop() {
    this.isStopped = true;
    clearTimeout(this.timer);
    clearTimeout(this.soon);
  }
}
