import { shortcuts } from "../film/shortcuts.js";
import { clock } from "../film/times.js";
import { newKey } from "../portal/ids.js";
import { whenBack } from "../portal/sending.js";
import { Outbox } from "./outbox.js";
import { Reel } from "./reel.js";

const SKILL_KEYS = ["u", "i", "o"];
const STEP_MS = 1500;
const FIELDS = "textarea, select, input:not([type=checkbox], [type=radio], [type=range]), [contenteditable]";

/**
 * <tally-count tally="…" url="…"> with the parts of tallies/tally_count.html: type a number, then one
 * key for did it or not yet. Each mark is kept in this browser until the server has it.
 */
customElements.define("tally-count", class extends HTMLElement {
  async connectedCallback() {
    this.stop = new AbortController();
    this.sheet = JSON.parse(this.querySelector("#tally-sheet").textContent);
    this.words = this.querySelector(".tally-words").dataset;
    this.typed = "";
    this.skill = this.sheet.skills[0];
    this.marks = new Map(this.sheet.marks.map((mark) => [mark.id, mark]));
    this.reachedMs = this.sheet.reached_ms;
    this.outbox = new Outbox(this.getAttribute("tally"), {
      url: this.getAttribute("url"),
      owner: document.body.dataset.person,
      tell: (said) => this.sending(said),
    });
    this.takeWaiting();
    this.listen();
    await customElements.whenDefined("film-player");
    if (this.stop.signal.aborted) return;
    this.player = this.querySelector("film-player");
    this.addKeys();
    if (this.sheet.is_sample) this.startReel();
    else if (this.reachedMs > STEP_MS) this.player.move(this.reachedMs);
    this.draw();
    this.outbox.flush();
    this.dataset.ready = "";
  }

  disconnectedCallback() {
    this.stop.abort();
    this.outbox.stop();
  }

  part(name) {
    return this.querySelector(`[data-part="${name}"]`);
  }

  /** What an earlier page could not send counts as marked. */
  takeWaiting() {
    for (const mark of this.outbox.marks()) {
      if (mark.undone) this.marks.delete(mark.id);
      else this.marks.set(mark.id, mark);
    }
    const watched = this.outbox.all().get("watched");
    if (!watched) return;
    this.reachedMs = Math.max(this.reachedMs, watched.reached_ms);
    for (const one of this.sheet.possessions) one.seen ||= watched.seen.includes(one.place);
  }

  startReel() {
    this.reel = new Reel(this.player, this.sheet.possessions, {
      durationMs: this.player.durationMs,
      tell: () => { this.drawPlace(); this.tellWatched(); },
    });
    this.reel.go(this.reel.at);
  }

  addKeys() {
    const add = (name, key, run, label) => shortcuts.add(`tally-${name}`, key, run, { label, group: this.words.group });
    add("did-it", "d", () => this.mark(true), this.words.didIt);
    add("not-yet", "n", () => this.mark(false), this.words.notYet);
    add("undo", "x", () => this.undo(), this.words.undo);
    if (this.sheet.skills.length > 1) {
      this.sheet.skills.forEach((skill, at) => add(`skill-${at + 1}`, SKILL_KEYS[at], () => this.choose(skill), skill.name));
    }
    if (!this.sheet.is_sample) return;
    add("back", "[", () => this.reel.step(-1), this.words.back);
    add("next", "]", () => this.reel.step(1), this.words.next);
    add("again", "r", () => this.reel.again(), this.words.again);
  }

  listen() {
    const { signal } = this.stop;
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(document, "keydown", (event) => this.digit(event));
    on(this, "click", (event) => this.clicked(event));
    on(this, "film:time", ({ detail }) => this.time(detail.ms));
    whenBack(() => this.outbox.flush(), signal);
    on(this, "submit", (event) => this.leave(event));
  }

  // --- keys and taps ---

  digit(event) {
    if (shortcuts.off || event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest?.(FIELDS) || this.querySelector("dialog[open]")) return;
    if (/^[0-9]$/.test(event.key)) this.type((this.typed + event.key).slice(-3));
    else if (event.key === "Backspace") this.type(this.typed.slice(0, -1));
    else if (event.key === "Escape" && this.typed) this.type("");
    else return;
    event.preventDefault();
  }

  type(text) {
    this.typed = text;
    this.picked = null;
    this.drawPad();
  }

  clicked(event) {
    const target = event.target.closest("button");
    if (!target) return;
    const { player, skill, verdict, undo, ms, reel, forget } = target.dataset;
    if (player) this.pick(player);
    else if (skill) this.choose(this.sheet.skills.find((one) => one.id === skill));
    else if (verdict) this.mark(verdict === "did_it");
    else if (undo) this.takeBack(undo);
    else if (ms) this.player.seek(Number(ms));
    else if (reel) ({ back: () => this.reel.step(-1), next: () => this.reel.step(1), again: () => this.reel.again() })[reel]();
    else if (forget !== undefined) this.forgetRefused();
    else if ("tryNow" in target.dataset) this.outbox.flush();
    else return;
    // The space bar belongs to the film again.
    if (!undo && target.closest(".tally-pad")) target.blur();
  }

  pick(id) {
    this.typed = "";
    this.picked = this.sheet.players.find((one) => one.id === id);
    this.drawPad();
  }

  choose(skill) {
    this.skill = skill;
    this.drawPad();
  }

  /** Whom the next mark means: the only one, the one picked, or whose number was typed. */
  who() {
    const { players } = this.sheet;
    if (players.length === 1) return players[0];
    if (this.picked) return this.picked;
    const named = players.filter((one) => this.typed && one.number === this.typed);
    return named.length === 1 ? named[0] : null;
  }

  mark(didIt) {
    const who = this.who();
    if (!who) return this.askWho();
    const ms = this.player.currentMs();
    const mark = {
      id: newKey(), ms, player: who.id, skill: this.skill.id, did_it: didIt, undone: false,
      place: this.reel ? this.reel.now.place : null, at: new Date().toISOString(),
    };
    this.marks.set(mark.id, mark);
    this.typed = "";
    this.picked = null;
    this.outbox.put(mark);
    this.draw();
    this.say(`${this.nameOf(mark)}: ${didIt ? this.words.didIt : this.words.notYet}, ${clock(ms)}`);
  }

  /** A wrong number would only stand in the way of the right one. */
  askWho() {
    this.say(this.typed ? `${this.words.nobody} ${this.typed}.` : this.words.number);
    this.type("");
    this.asks = true;
  }

  undo() {
    const last = [...this.marks.values()].reduce((one, other) => (one && one.at > other.at ? one : other), null);
    if (last) this.takeBack(last.id);
    else this.say(this.words.nothing);
  }

  takeBack(id) {
    const mark = this.marks.get(id);
    if (!mark) return;
    this.marks.delete(id);
    this.outbox.put({ ...mark, undone: true });
    this.draw();
    this.say(`${this.words.undone} ${this.nameOf(mark)}, ${clock(mark.ms)}`);
  }

  forgetRefused() {
    for (const id of [...this.outbox.refused.keys()]) {
      this.marks.delete(id);
      this.outbox.forget(id);
    }
    this.draw();
  }

  /** A page is left for good only with everything sent. */
  async leave(event) {
    if (event.target.dataset.needs !== "sent" || this.left) return;
    event.preventDefault();
    const { submitter, target } = event;
    if (!await this.outbox.flush()) return this.say(this.words.unsent);
    this.left = true;
    // With nothing to send this still runs inside the submit event, where a form refuses to submit.
    setTimeout(() => target.requestSubmit(submitter));
  }

  // --- the film ---

  time(ms) {
    if (this.reel) this.reel.time(ms);
    else this.reach(ms);
  }

  /** Only what follows on what was watched before counts as watched; a leap ahead does not. */
  reach(ms) {
    if (ms <= this.reachedMs || ms - this.reachedMs > STEP_MS) return;
    this.reachedMs = ms;
    this.drawPlace();
    if (ms - (this.toldMs ?? 0) > 10000 || ms >= this.sheet.last_ms) this.tellWatched();
  }

  tellWatched() {
    this.toldMs = this.reachedMs;
    this.outbox.watched({ seen: this.reel ? this.reel.seen : [], reachedMs: this.reachedMs });
  }

  // --- drawing ---

  nameOf(mark) {
    const who = this.sheet.players.find((one) => one.id === mark.player);
    return who ? `${who.number} ${who.name}`.trim() : "";
  }

  draw() {
    const rows = [...this.marks.values()].sort((one, other) => other.ms - one.ms || (one.at < other.at ? 1 : -1));
    this.part("rows").replaceChildren(...rows.map((mark) => this.row(mark)));
    this.part("none").hidden = rows.length > 0;
    this.part("count").textContent = rows.length;
    const line = rows.map(({ ms, did_it: didIt, id }) => ({ ms, id, verdict: didIt ? "did_it" : "not_yet" }));
    document.dispatchEvent(new CustomEvent("film:marks", { detail: line }));
    this.drawPad();
    this.drawPlace();
  }

  row(mark) {
    const row = this.querySelector("template.tally-row").content.cloneNode(true).firstElementChild;
    const time = row.querySelector("[data-ms]");
    time.dataset.ms = mark.ms;
    time.textContent = clock(mark.ms);
    row.querySelector(mark.did_it ? "[data-not]" : "[data-did]").remove();
    row.querySelector("[data-who]").textContent = this.nameOf(mark);
    const skill = this.sheet.skills.find((one) => one.id === mark.skill);
    row.querySelector("[data-skill-name]").textContent = this.sheet.skills.length > 1 && skill ? `— ${skill.name}` : "";
    const undo = row.querySelector("[data-undo]");
    undo.dataset.undo = mark.id;
    undo.setAttribute("aria-label", `${this.words.takeBack}: ${this.nameOf(mark)}, ${clock(mark.ms)}`);
    row.dataset.mark = mark.id;
    return row;
  }

  drawPad() {
    const who = this.who();
    if (who && this.asks) this.say("");
    this.asks &&= !who;
    this.part("typed").textContent = this.typed;
    this.part("who").textContent = who ? who.full : this.typed ? this.words.noOne : this.words.number;
    for (const one of this.querySelectorAll("[data-player]")) one.setAttribute("aria-pressed", String(one.dataset.player === who?.id));
    for (const one of this.querySelectorAll(".tally-pad [data-skill]")) one.setAttribute("aria-pressed", String(one.dataset.skill === this.skill.id));
  }

  drawPlace() {
    const { reel } = this;
    if (!reel) {
      this.part("place").textContent = `${this.words.watched} ${clock(this.reachedMs).replace(/\.\d$/, "")}`;
      return;
    }
    this.part("place").textContent = this.words.possession.replace("{at}", reel.at + 1).replace("{all}", reel.possessions.length);
    this.part("left").textContent = reel.left ? this.words.left.replace("{left}", reel.left) : this.words.allSeen;
  }

  say(text) {
    this.part("said").textContent = text;
  }

  sending({ state, waiting, message, unkept }) {
    const { words } = this;
    const texts = {
      sent: words.sent,
      sending: words.sending,
      offline: words.offline.replace("{waiting}", waiting),
      "signed-out": words.signedOut,
      refused: `${words.refused} ${message}`,
    };
    const line = this.part("sending");
    line.dataset.state = state;
    line.querySelector("span").textContent = texts[state] + (unkept ? ` ${words.unkept}` : "");
    line.querySelector("[data-forget]").hidden = state !== "refused" || !this.outbox?.refused.size;
    line.querySelector("[data-try-now]").hidden = state === "sent" || state === "sending";
  }
});
