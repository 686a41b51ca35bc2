/**
 * <film-possessions src="…" put="…/" marks='{"possessions": […]}' [may-mark] [only-side="ours"]
 * [only-periods="1,2"]>: marks possessions by key while the film plays, and steps through them.
 *
 * Saved at once, through an outbox that waits for a lost connection; what the server refuses is
 * taken back with its reason. `only-side` and `only-periods` narrow what next, previous and the
 * skipping of dead time go through, nothing else.
 *
 *   it sends, on document:  film:possessions {possessions}: after every change
 *                           film:possession {id, number, count, words}: the film is in another one
 *   it offers:              rows, steps()
 */
import { readFilmTime, readingAt } from "./game-clock.js";
import { newKey } from "../portal/ids.js";
import { Outbox } from "./outbox.js";
import { fromServer, other, PossessionList, toServer } from "./possession-list.js";
import { shortcuts } from "./shortcuts.js";
import { clock } from "./times.js";

const KEYS = [
  ["possession-start", "p", "start"], ["possession-end", "i", "end"], ["possession-side", "o", "swap"], ["possession-undo", "u", "undo"],
  ["possession-delete", "delete", "remove"],
];
const STEPS = [["possession-back", "[", "back"], ["possession-on", "]", "on"], ["possession-loop", "r", "loop"], ["skip-dead", "k", "skipDead"]];
// Back within this much of a start means the one before.
const JUST_BEGUN_MS = 1500;
const MOST_UNDO = 100;

class FilmPossessions extends HTMLElement {
  static observedAttributes = ["only-side", "only-periods"];

  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.words = this.querySelector(".possession-words").dataset;
    this.said = this.querySelector(".possession-said");
    this.saving = this.querySelector(".possession-saving");
    this.where = document.querySelector(".film-where");
    this.form = this.querySelector("form");
    this.list = new PossessionList(JSON.parse(this.getAttribute("marks")).possessions.map(fromServer));
    this.undone = [];
    this.ms = 0;
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(document, "film:time", ({ detail }) => this.time(detail.ms));
    on(this, "click", ({ target }) => this.named[target.closest("[data-do]")?.dataset.do]?.());
    if (this.form) on(this.form, "submit", (event) => { event.preventDefault(); this.edit(); });
    this.named = this.actions();
    this.addKeys();
    this.outbox = new Outbox(`possessions:${this.getAttribute("film")}`, {
      saved: (_, answer) => this.took(answer),
      refused: (_, error) => this.refuse(error),
      changed: (state) => this.showState(state),
      signal,
    });
    this.replay();
    customElements.whenDefined("film-player").then(() => {
      this.player = document.querySelector("film-player");
      this.changed();
    });
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  attributeChangedCallback() {
    if (this.list) this.show();
  }

  get rows() {
    return this.list.rows;
  }

  actions() {
    return {
      start: () => this.start(), end: () => this.end(), swap: () => this.swap(), undo: () => this.undo(), remove: () => this.remove(),
      back: () => this.go(-1), on: () => this.go(1), loop: () => this.loop(), skipDead: () => this.toggleSkip(),
    };
  }

  addKeys() {
    const keys = this.hasAttribute("may-mark") ? [...KEYS, ...STEPS] : STEPS;
    for (const [name, key, action] of keys) {
      shortcuts.add(name, key, this.named[action], { label: this.words[action], group: this.words.group });
    }
  }

  // What changes them

  start() {
    this.put(this.list.start(this.now(), newKey()));
  }

  end() {
    this.put(this.list.end(this.now()));
  }

  swap() {
    const row = this.here();
    if (row) this.put([{ ...row, side: other(row.side) }]);
  }

  remove() {
    const row = this.here();
    if (row) this.change([{ gone: row.id }], [{ put: row }]);
  }

  edit() {
    const row = this.list.get(this.form.dataset.id);
    const { start, end, side } = this.form.elements;
    const [startMs, endMs] = [readFilmTime(start.value), end.value.trim() ? readFilmTime(end.value) : null];
    if (!row || startMs === null || (end.value.trim() && endMs === null)) return this.say(this.words.unreadable, true);
    this.put([{ ...row, startMs, endMs, side: side.value }]);
  }

  put(rows) {
    if (!rows.length) return;
    const before = rows.map((row) => this.list.get(row.id));
    const back = rows.map((row, index) => (before[index] ? { put: before[index] } : { gone: row.id })).reverse();
    this.change(rows.map((row) => ({ put: row })), back);
  }

  change(steps, back) {
    this.undone.push(back);
    if (this.undone.length > MOST_UNDO) this.undone.shift();
    this.apply(steps);
  }

  undo() {
    const back = this.undone.pop();
    if (!back) return this.say(this.words.nothing);
    this.apply(back);
    this.say(this.words.taken);
  }

  apply(steps) {
    this.say("");
    for (const { put, gone } of steps) {
      if (put) this.list.put(put);
      else this.list.remove(gone);
    }
    this.changed();
    for (const { put, gone } of steps) {
      const url = this.getAttribute("put").replace("00000000-0000-0000-0000-000000000000", put?.id ?? gone);
      if (put) this.outbox.push("PUT", url, toServer(put));
      else this.outbox.push("DELETE", url);
    }
  }

  // What the server says

  took(answer) {
    const waiting = new Set(this.outbox.rows.map((row) => row.url.split("/").at(-2)));
    const told = (answer.possessions ?? []).map(fromServer).filter((row) => !waiting.has(row.id));
    const news = told.filter((row) => JSON.stringify(row) !== JSON.stringify(this.list.get(row.id)));
    // One that is deleted here meanwhile does not come back.
    for (const row of news) if (this.list.get(row.id)) this.list.put(row);
    if (news.length) this.changed();
  }

  async refuse(error) {
    this.say(error.message, true);
    this.undone = [];
    const answer = await fetch(this.getAttribute("src"), { credentials: "same-origin", signal: this.stop.signal }).catch(() => null);
    if (!answer?.ok) return;
    this.list = new PossessionList((await answer.json()).possessions.map(fromServer));
    this.replay();
    this.changed();
  }

  /** What still waits to be sent, over what the server has. */
  replay() {
    for (const { method, url, body } of this.outbox.rows) {
      const id = url.split("/").at(-2);
      if (method === "PUT") this.list.put(fromServer({ id, ...body }));
      else this.list.remove(id);
    }
  }

  // Where the film is

  now() {
    return this.player?.currentMs?.() ?? this.ms;
  }

  /** The one that the film is in, else the last one that began before. */
  here() {
    return this.rows[this.list.begunAt(this.now())] ?? null;
  }

  time(ms) {
    this.ms = ms;
    this.show();
    if (this.skips && !this.player.video.paused) this.leaveDeadTime(ms);
  }

  changed() {
    this.tell("film:possessions", { possessions: this.rows });
    this.shown = undefined;
    this.show();
  }

  show() {
    const ms = this.now();
    const index = this.list.indexAt(ms);
    const row = this.rows[index] ?? null;
    const near = row ?? this.rows[this.list.begunAt(ms)] ?? null;
    const said = `${index} ${near?.id} ${this.rows.length}`;
    if (said === this.shown) return;
    this.shown = said;
    const words = row ? this.words.where.replace("{number}", index + 1).replace("{count}", this.rows.length).replace("{side}", this.words[row.side]) : "";
    if (this.where) this.where.textContent = words || (near ? this.words.dead : "");
    this.tell("film:possession", { id: row?.id ?? null, number: index + 1, count: this.rows.length, words });
    if (this.form) this.fill(near);
  }

  fill(row) {
    this.form.hidden = !row;
    if (!row) return;
    const { start, end, side } = this.form.elements;
    this.form.dataset.id = row.id;
    this.form.querySelector(".possession-number").textContent = String(this.rows.indexOf(row) + 1);
    start.value = clock(row.startMs);
    end.value = row.endMs === null ? "" : clock(row.endMs);
    side.value = row.side;
  }

  // Going through them

  /** Those that next, previous and skipping go through. */
  steps() {
    const side = this.getAttribute("only-side");
    const periods = (this.getAttribute("only-periods") ?? "").split(",").filter(Boolean).map(Number);
    const game = document.querySelector("film-clock");
    const within = (row) => {
      if (!periods.length || !game?.marks.length) return true;
      const reading = readingAt(game.marks, row.startMs, game.rules);
      return periods.some((period) => period >= reading.period && period <= reading.lastPeriod);
    };
    return this.rows.filter((row) => (!side || row.side === side) && within(row));
  }

  go(by) {
    const now = this.now();
    const steps = this.steps();
    const found = by > 0
      ? steps.find((row) => row.startMs > now)
      : steps.findLast((row) => row.startMs < now - (this.player.video.paused ? 0 : JUST_BEGUN_MS));
    if (!found) return this.say(this.words[by > 0 ? "last" : "first"]);
    this.say("");
    this.player.move(found.startMs);
  }

  loop() {
    if (this.player.repeated) return this.player.loopSpan();
    const row = this.here();
    if (!row) return;
    const endMs = row.endMs ?? this.rows[this.rows.indexOf(row) + 1]?.startMs ?? this.now();
    if (endMs > row.startMs) this.player.loop(row.startMs, endMs);
  }

  toggleSkip() {
    this.skips = !this.skips;
    this.querySelector("[data-do=skipDead]").setAttribute("aria-pressed", String(this.skips));
    this.say(this.words[this.skips ? "skips" : "skipsNot"]);
  }

  leaveDeadTime(ms) {
    const steps = this.steps();
    const inside = steps.some((row) => row.startMs <= ms && (row.endMs === null || ms < row.endMs));
    if (inside || this.player.repeated || !steps.length) return;
    const next = steps.find((row) => row.startMs > ms);
    if (next) this.player.move(next.startMs);
    else {
      this.player.pause();
      this.say(this.words.last);
    }
  }

  // What is said

  say(words, isWrong = false) {
    this.said.textContent = words;
    this.said.classList.toggle("warn", isWrong);
  }

  showState(state) {
    const count = this.outbox?.rows.length ?? 0;
    const words = { saving: "", saved: "", waiting: this.words.waits, "signed-out": this.words.signedOut }[state];
    this.saving.textContent = words.replace("{count}", count);
    this.dataset.saving = state;
  }

  tell(name, detail) {
    document.dispatchEvent(new CustomEvent(name, { detail }));
  }
}

customElements.define("film-possessions", FilmPossessions);
