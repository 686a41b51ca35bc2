/**
 * The workouts that this phone holds, until the server has them. One row per workout:
 * {id, person, player, workout, version, dirty, revision, acknowledged, body, state, status, said, dropped, pages}.
 * `version` counts the writes of pages, `dirty` says that there is something newer than `body`,
 * which is what was sent as `revision`: after a reload the same revision says the same thing.
 * `dropped`: when it was thrown away, 0 for not at all; for a while that can be taken back. `pages`: which put
 * of each page it holds, so that one that comes again (see unwritten.js) is not counted twice.
 * Everything is by person: what one has kept is neither shown to another nor sent in his name.
 */
import { send } from "../portal/http.js";
import { newKey } from "../portal/ids.js";
import { meantFor, outcomeOf, Waits, whenBack } from "../portal/sending.js";
import { acknowledged, fresh, isConflict, isUnsent, laid, stamped } from "./rows.js";
import { openStore } from "./store.js";
import * as unwritten from "./unwritten.js";

const LOOK_AGAIN_MS = 30000;
const BUSY_MS = 1500;
export const UNDO_MS = 10 * 60 * 1000;

export class Outbox extends EventTarget {
  rows = new Map();
  /** Those of the page that is open: what lies there is told there. */
  shelves = new Set();
  mood = "";
  url = "/api/v1/workouts/";
  waits = new Waits();
  writing = Promise.resolve();
  /** How many writes of a row are still to come. */
  pending = new Map();
  /** What this page has put and the disk has not confirmed: turn -> put. */
  puts = new Map();
  page = newKey();
  turn = 0;
  failed = false;

  /** transport: as `send` of portal/http.js. */
  constructor(person, store, { transport = send, locks = navigator.locks } = {}) {
    super();
    Object.assign(this, { person, store, transport, locks });
    this.channel = "BroadcastChannel" in window ? new BroadcastChannel(`outbox:${person}`) : null;
    this.channel?.addEventListener("message", (event) => this.#elsewhere(event.data));
  }

  async load() {
    await this.#takeLeft();
    for (const row of await this.store.all(this.person)) {
      if (row.dropped && Date.now() - row.dropped > UNDO_MS) await this.store.write(row.id, () => null);
      else this.rows.set(row.id, row);
    }
    return this;
  }

  /** Empties itself on load, when the connection or the page comes back, and now and then. */
  start() {
    const soon = () => this.drain();
    // A page that slept may not have heard of what others did.
    const awake = () => this.#look().catch(() => {}).then(soon);
    window.addEventListener("pageshow", (event) => { this.#away(false); if (event.persisted) awake(); });
    window.addEventListener("pagehide", () => this.#away(true));
    // A phone may end a page that is not seen, and says no more.
    document.addEventListener("visibilitychange", () => this.#away(document.hidden));
    window.addEventListener("storage", ({ key, newValue }) => newValue && unwritten.isOf(this.person, key) && this.#takeLeft());
    whenBack(awake);
    setInterval(() => this.unsent.length && this.drain(), LOOK_AGAIN_MS);
    soon();
  }

  get isKept() {
    return this.store.isKept && !this.failed;
  }

  /** Rows of which the server lacks something. */
  get unsent() {
    return [...this.rows.values()].filter(isUnsent);
  }

  row(id) {
    return this.rows.get(id) ?? null;
  }

  /** Thrown away a short while ago. */
  get dropped() {
    return [...this.rows.values()].filter(({ dropped }) => dropped && Date.now() - dropped < UNDO_MS);
  }

  /**
   * Keeps the workout as it is now. `base`: the version that the page last took or put, 0 for none;
   * `seen`: the workout as it was then. What another page put meanwhile is added to it. Where the
   * row is gone meanwhile, since all of it was sent, "gone" is told instead.
   */
  put(workout, { base = 0, seen = null } = {}) {
    const { person, page } = this;
    const mine = structuredClone(workout);
    const put = { person, workout: mine, base, seen, page, turn: (this.turn += 1) };
    const shown = laid(this.rows.get(mine.id), put);
    if (shown) this.rows.set(mine.id, shown);
    if (mine.changed) this.#stay();
    this.puts.set(put.turn, put);
    if (this.isAway) this.#leave();
    return this.#lay(put).then((row) => {
      this.puts.delete(put.turn);
      if (this.isAway) this.#leave();
      if (!row) this.dispatchEvent(new CustomEvent("gone", { detail: { id: mine.id, seen } }));
    });
  }

  #lay(put) {
    return this.#write(put.workout.id, (held) => laid(held, put));
  }

  drop(id) {
    this.rows.delete(id);
    return this.#write(id, () => null);
  }

  /** Not sent and not shown any more; it can be brought back for a while. */
  throwAway(id) {
    return this.#mark(id, (row) => ({ ...row, dropped: Date.now() }));
  }

  bringBack(id) {
    return this.#mark(id, (row) => ({ ...row, dropped: 0 }));
  }

  /** What the server holds under this key, or null. */
  async theirs(id) {
    try {
      return await this.#ask("GET", id);
    } catch (error) {
      if (error.status === 404) return null;
      throw error;
    }
  }

  /** In the place of what the server holds, as revision `number`. */
  async insist(id, number) {
    await this.#mark(id, (row) => ({
      ...row, revision: Math.max(number, row.revision), dirty: true, state: "waiting", said: "",
    }));
    await this.drain();
  }

  #mark(id, change) {
    const shown = this.rows.get(id);
    if (shown) this.rows.set(id, change(shown));
    return this.#write(id, (held) => (held ? change(held) : null));
  }

  /** Asks the browser, once there is something, not to clear it away by itself. */
  async #stay() {
    if (this.hasAsked) return;
    this.hasAsked = true;
    try {
      if (!(await navigator.storage.persisted())) await navigator.storage.persist();
    } catch {
      // an old browser, or a page without https
    }
  }

  #away(isAway) {
    this.isAway = isAway;
    this.#leave();
  }

  /** For another page, where this one does not come to write it. */
  #leave() {
    unwritten.leave(this.person, this.page, this.isAway ? [...this.puts.values()] : []);
  }

  /** What other pages could not write, each put once. */
  async #takeLeft() {
    for (const note of unwritten.left(this.person)) {
      for (const put of note.puts) await this.#lay({ ...put, person: this.person });
      unwritten.forget(note);
    }
  }

  /** Everything that was put is on the disk (true), or could not be kept (false). */
  async settled() {
    await this.writing;
    return this.isKept;
  }

  /** Sends what waits, each row once; `again`: also what was refused, but for conflicts. One tab at a time. */
  drain({ again = false } = {}) {
    this.wanted = true;
    this.again ||= again;
    this.draining ??= this.#drainAll().catch(() => this.#later(BUSY_MS * 4)).finally(() => { this.draining = null; });
    return this.draining;
  }

  /** Deletes it here, and on the server if it ever went there. Throws what the server says. */
  async remove(id) {
    await this.#alone(async () => {
      await this.settled();
      if (this.row(id)?.revision) {
        try {
          await this.#ask("DELETE", id);
        } catch (error) {
          if (error.status !== 404) throw error;
        }
      }
      await this.drop(id);
    }, {});
  }

  async #drainAll() {
    clearTimeout(this.timer);
    await this.settled();
    while (this.wanted) {
      const { again } = this;
      this.wanted = this.again = false;
      if (!this.unsent.length) continue;
      const wasAlone = await this.#alone(() => this.#drainOnce(again), { ifAvailable: true });
      if (!wasAlone) this.#later(BUSY_MS);
    }
  }

  /** Works without locks too, where there are none: a row sent twice is one row there. */
  async #alone(run, options) {
    if (!this.locks) {
      await run();
      return true;
    }
    return this.locks.request(`drain:${this.person}`, options, async (lock) => {
      if (lock) await run();
      return Boolean(lock);
    });
  }

  async #drainOnce(again) {
    await this.#refresh();
    const tried = new Set();
    for (;;) {
      const ready = this.unsent.filter((one) => !isConflict(one));
      const waiting = ready.filter((one) => !tried.has(one.id) || one.state !== "look");
      const next = waiting.find((one) => one.state !== "look" || again);
      if (!next) break;
      tried.add(next.id);
      if (!(await this.#send(next.id))) return;
    }
    this.waits.over();
    this.#feel("");
  }

  /** False where it is no use to go on with the next one. */
  async #send(id) {
    const row = await this.#write(id, (held) => held && stamped(held));
    if (!row) return true;
    this.#feel("sending");
    try {
      const answer = await this.#ask("PUT", id, row.body);
      // A hall's own network may answer with a page of its own.
      if (answer?.id !== id) throw Object.assign(new Error("not from us"), { status: 0 });
    } catch (error) {
      return this.#refused(id, error);
    }
    await this.#write(id, (held) => held && acknowledged(held, row.revision), true);
    return true;
  }

  async #refused(id, error) {
    const outcome = outcomeOf(error);
    if (outcome === "lost") {
      this.#feel("offline");
      this.#later(this.waits.next());
      return false;
    }
    if (outcome === "signed-out") {
      this.#feel("signed-out");
      return false;
    }
    const { status } = error;
    await this.#write(id, (held) => held && { ...held, state: "look", status, said: error.message });
    return true;
  }

  #ask(method, id, body = null) {
    return this.transport(method, `${this.url}${id}/`, body, meantFor(this.person));
  }

  #later(wait) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.drain(), wait);
  }

  /** One row through `change`, which gives the row to be kept, or null for none. In order, on the disk. */
  #write(id, change, sent = false) {
    const mine = (held) => (held && held.person !== this.person ? undefined : change(held) ?? null);
    const work = this.writing.then(() => this.store.write(id, mine));
    this.pending.set(id, (this.pending.get(id) ?? 0) + 1);
    const over = () => this.pending.set(id, this.pending.get(id) - 1);
    work.then(over, over);
    this.writing = work.then((row) => {
      this.#set(id, row, { sent });
      this.channel?.postMessage({ id, sent });
    }, () => {
      this.failed = true;
      this.dispatchEvent(new CustomEvent("change", { detail: { id } }));
    });
    return work;
  }

  #set(id, row, detail) {
    // A page may have put something newer into memory, whose turn on the disk is still to come.
    const shown = this.rows.get(id);
    if (row && shown && shown.version > row.version) {
      const { revision, acknowledged: known, body, state, status, said } = row;
      Object.assign(shown, { revision, acknowledged: known, body });
      if (!shown.dirty) Object.assign(shown, { state, status, said });
    } else if (row) {
      this.rows.set(id, row);
    } else {
      this.rows.delete(id);
    }
    this.dispatchEvent(new CustomEvent("change", { detail: { id, ...detail } }));
  }

  async #elsewhere({ id, sent }) {
    await this.#refresh();
    this.dispatchEvent(new CustomEvent("change", { detail: { id, sent } }));
  }

  /** Tells of every row that is another one than it was here. */
  async #look() {
    const before = this.rows;
    await this.#refresh();
    const ids = new Set([...before.keys(), ...this.rows.keys()]);
    const isOther = (id) => before.get(id)?.version !== this.rows.get(id)?.version;
    for (const id of ids) if (isOther(id)) this.dispatchEvent(new CustomEvent("change", { detail: { id } }));
  }

  async #refresh() {
    await this.writing;
    const rows = new Map((await this.store.all(this.person)).map((row) => [row.id, row]));
    // What was put meanwhile is on its way to the disk.
    for (const [id, row] of this.rows) {
      const isNewer = rows.has(id) ? row.version > rows.get(id).version : this.pending.get(id);
      if (isNewer) rows.set(id, row);
    }
    this.rows = rows;
  }

  #feel(mood) {
    if (this.mood === mood) return;
    this.mood = mood;
    this.dispatchEvent(new CustomEvent("change", { detail: {} }));
  }
}

/** What an earlier portal kept in another place on this phone, whoever's it is. Once. */
async function fromBefore(store, storage = window.localStorage) {
  const keys = Object.keys(storage).filter((key) => /^workout:[^:]+:[^:]+$/.test(key));
  for (const key of keys) {
    const [, person] = key.split(":");
    let workout = null;
    try {
      workout = JSON.parse(storage.getItem(key));
    } catch {
      continue;
    }
    if (typeof workout?.id !== "string" || !Array.isArray(workout.sets)) continue;
    const row = { ...fresh(person, workout), dirty: Boolean(workout.changed), version: 1 };
    await store.write(row.id, (held) => (held ? undefined : row));
    if (store.isKept) storage.removeItem(key);
  }
}

async function open(person) {
  const store = await openStore();
  try {
    await fromBefore(store);
  } catch {
    // no storage of that kind: nothing was kept there
  }
  return new Outbox(person, store).load();
}

/** This page's outbox, ready when this module is. */
export const outbox = await open(document.body.dataset.person ?? "");
if (outbox.person) outbox.start();
