/**
 * <film-clock src="…" put="…/" periods="…" marks='{"marks": […], "rules": {…}}' [may-mark]>: says what
 * the game clock showed, shows it beside the film time, and goes to a time of the game.
 *
 *   it sends, on document:  film:clock {marks, rules, starts}: after every change
 *   it offers:              marks, rules, label(ms)
 */
import { expectedAt, labelAt, lengthOf, nameOf, periodStarts, readClock, readPlace, told, windowOf } from "./game-clock.js";
import { newKey } from "../portal/ids.js";
import { Outbox } from "./outbox.js";
import { send } from "../portal/http.js";
import { shortcuts } from "./shortcuts.js";
import { clock } from "./times.js";

const OVERTIMES_OFFERED = 3;
const STILL_THERE_MS = 5;

function fromServer(row) {
  return { id: row.id, filmMs: row.film_ms, period: row.period, clockS: row.clock_s };
}

class FilmClock extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.words = this.querySelector(".clock-words").dataset;
    this.output = document.querySelector(".film-clock-now");
    this.said = this.querySelector(".clock-said");
    this.arrivedMs = null;
    this.take(JSON.parse(this.getAttribute("marks")));
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    const form = (name) => this.querySelector(`[data-form=${name}]`);
    [this.markDialog, this.goDialog] = [form("mark"), form("go")];
    on(document, "film:time", ({ detail }) => this.time(detail.ms));
    on(this, "click", ({ target }) => this.click(target));
    // The keys of the page sleep while one of these is open.
    for (const dialog of this.querySelectorAll("dialog")) {
      on(dialog, "keydown", (event) => event.stopPropagation());
      on(dialog, "close", () => document.querySelector("film-player")?.focus({ preventScroll: true }));
    }
    on(this.goDialog.querySelector("form"), "submit", (event) => { event.preventDefault(); this.goTo(); });
    shortcuts.add("go-to", "g", () => this.openGo(), { label: this.words.goTo, group: this.words.group });
    if (this.hasAttribute("may-mark")) this.listenToMarks(on, signal);
    customElements.whenDefined("film-player").then(() => {
      this.player = document.querySelector("film-player");
      this.changed();
    });
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  listenToMarks(on, signal) {
    on(this.markDialog.querySelector("form"), "submit", (event) => { event.preventDefault(); this.keep(); });
    on(this.querySelector(".clock-periods"), "submit", (event) => { event.preventDefault(); this.keepPeriods(event.submitter); });
    shortcuts.add("clock-mark", "h", () => this.openMark(), { label: this.words.mark, group: this.words.group });
    this.outbox = new Outbox(`clock:${this.getAttribute("film")}`, {
      saved: () => {},
      refused: (_, error) => { this.say(error.message, true); this.reload(); },
      changed: (state) => { this.dataset.saving = state; },
      signal,
    });
    for (const { method, url, body } of this.outbox.rows) {
      const id = url.split("/").at(-2);
      this.drop(id);
      if (method === "PUT") this.add(fromServer({ id, ...body, clock_s: Number(body.clock_s) }));
    }
  }

  take({ marks, rules }) {
    this.marks = marks.map(fromServer);
    this.rules = rules;
  }

  async reload() {
    const answer = await send("GET", this.getAttribute("src"), null, { signal: this.stop.signal }).catch(() => null);
    if (!answer) return;
    this.take(answer);
    this.changed();
  }

  add(mark) {
    this.marks = [...this.marks.filter((other) => other.id !== mark.id), mark].sort((one, two) => one.filmMs - two.filmMs);
  }

  drop(id) {
    this.marks = this.marks.filter((mark) => mark.id !== id);
  }

  get endMs() {
    return Number(document.querySelector("film-player")?.getAttribute("duration-ms")) || undefined;
  }

  now() {
    return this.player?.currentMs?.() ?? 0;
  }

  label(ms) {
    return labelAt(this.marks, ms, this.rules);
  }

  time(ms) {
    if (this.arrivedMs !== null && Math.abs(ms - this.arrivedMs) > STILL_THERE_MS) {
      this.arrivedMs = null;
      this.say("");
    }
    const label = this.marks.length ? this.label(ms) : "";
    if (label === this.shown) return;
    this.shown = label;
    this.output.value = label;
    this.output.closest(".film-bar").classList.toggle("has-clock", Boolean(label));
  }

  changed() {
    this.shown = undefined;
    this.time(this.now());
    const starts = periodStarts(this.marks, this.rules, this.endMs);
    document.dispatchEvent(new CustomEvent("film:clock", { detail: { marks: this.marks, rules: this.rules, starts } }));
  }

  say(words, isWrong = false, place = this.said) {
    if (place === this.said) this.arrivedMs = null;
    place.textContent = words;
    place.classList.toggle("warn", isWrong);
  }

  click(target) {
    const button = target.closest("button");
    if (!button) return;
    if (button.matches("[data-close]")) button.closest("dialog").close();
    else if (button.dataset.do === "mark") this.openMark();
    else if (button.dataset.do === "go") this.openGo();
    else if (button.dataset.do === "closer") this.player.line.closer();
    else if (button.dataset.seek) { this.markDialog.close(); this.player.seek(Number(button.dataset.seek)); }
    else if (button.dataset.drop) this.forget(button.dataset.drop);
  }

  // What the clock showed

  openMark() {
    this.player.pause();
    const filmMs = this.now();
    const there = this.marks.find((mark) => mark.filmMs === filmMs);
    const guess = there ?? expectedAt(this.marks, filmMs, this.rules) ?? { period: 1, clockS: this.rules.period_s };
    this.pending = { id: there?.id ?? newKey(), filmMs };
    const { period, shown } = this.markDialog.querySelector("form").elements;
    const most = Math.max(guess.period, this.rules.periods + OVERTIMES_OFFERED);
    period.replaceChildren(...this.rules.names.slice(0, most).map((name, index) => new Option(name, index + 1)));
    period.value = String(guess.period);
    shown.value = told(guess.clockS);
    this.markDialog.querySelector(".clock-at").textContent = clock(filmMs);
    this.say("", false, this.problem);
    this.listMarks();
    this.fillPeriods();
    this.markDialog.showModal();
    shown.focus();
    shown.select();
  }

  get problem() {
    return this.markDialog.querySelector(".clock-problem");
  }

  async keep() {
    const { period, shown } = this.markDialog.querySelector("form").elements;
    const clockS = readClock(shown.value);
    if (clockS === null) return this.say(this.words.unreadable, true, this.problem);
    const mark = { ...this.pending, period: Number(period.value), clockS };
    const answer = await this.outbox.push("PUT", this.address(mark.id), { film_ms: mark.filmMs, period: mark.period, clock_s: clockS });
    if (answer.state === "refused") {
      this.say(answer.error.message, true, this.problem);
      return shown.focus();
    }
    this.add(mark);
    this.changed();
    this.markDialog.close();
    const label = `${nameOf(this.rules, mark.period)} ${told(clockS)}`;
    const words = { saved: "kept", waiting: "waits", "signed-out": "signedOut" }[answer.state];
    this.say(this.words[words].replace("{clock}", label));
  }

  async forget(id) {
    this.drop(id);
    this.changed();
    this.listMarks();
    await this.outbox.push("DELETE", this.address(id));
  }

  address(id) {
    return this.getAttribute("put").replace("00000000-0000-0000-0000-000000000000", id);
  }

  listMarks() {
    const rows = this.marks.map((mark) => {
      const row = document.createElement("li");
      const go = Object.assign(document.createElement("button"), { type: "button", className: "link", textContent: clock(mark.filmMs) });
      go.dataset.seek = String(mark.filmMs);
      const label = `${nameOf(this.rules, mark.period)} ${told(mark.clockS)}`;
      const drop = Object.assign(document.createElement("button"), { type: "button", className: "button quiet small", textContent: this.words.drop });
      drop.dataset.drop = mark.id;
      drop.setAttribute("aria-label", `${this.words.drop} ${label}`);
      const what = Object.assign(document.createElement("b"), { className: "figure", textContent: label });
      row.append(what, go, drop);
      return row;
    });
    this.markDialog.querySelector(".clock-list").replaceChildren(...rows);
  }

  fillPeriods() {
    const { count, minutes, overtime } = this.querySelector(".clock-periods").elements;
    count.value = String(this.rules.periods);
    minutes.value = told(this.rules.period_s);
    overtime.value = told(this.rules.overtime_s);
  }

  async keepPeriods(button) {
    const { count, minutes, overtime } = this.querySelector(".clock-periods").elements;
    const asClub = button.value === "club";
    const [periodS, overtimeS] = [readClock(minutes.value), readClock(overtime.value)];
    if (!asClub && (!periodS || !overtimeS)) return this.say(this.words.unreadable, true, this.problem);
    const wish = asClub ? {} : { period_count: Number(count.value), period_s: Math.round(periodS), overtime_s: Math.round(overtimeS) };
    try {
      this.rules = (await send("POST", this.getAttribute("periods"), wish)).rules;
    } catch (error) {
      return this.say(error.message, true, this.problem);
    }
    this.changed();
    this.markDialog.close();
    this.openMark();
  }

  // Going to a time of the game

  openGo() {
    this.say("", false, this.goDialog.querySelector(".clock-problem"));
    this.goDialog.showModal();
    const { place } = this.goDialog.querySelector("form").elements;
    place.focus();
    place.select();
  }

  goTo() {
    const refuse = (words) => this.say(words, true, this.goDialog.querySelector(".clock-problem"));
    const { place } = this.goDialog.querySelector("form").elements;
    const wanted = readPlace(place.value, this.rules);
    if (!wanted) return refuse(this.words.noPlace);
    if ("filmMs" in wanted) {
      if (wanted.filmMs > (this.endMs ?? Infinity)) return refuse(this.words.outside);
      return this.arrive(wanted.filmMs, "");
    }
    const name = nameOf(this.rules, wanted.period);
    if (wanted.period < 1 || wanted.period > this.rules.names.length) return refuse(this.words.noPeriod);
    if (wanted.clockS > lengthOf(this.rules, wanted.period)) return refuse(this.words.tooLong.replace("{period}", name).replace("{length}", told(lengthOf(this.rules, wanted.period))));
    if (!this.marks.length) return refuse(this.words.noMarks);
    this.arriveAtClock(wanted, `${name} ${told(wanted.clockS)}`);
  }

  arriveAtClock(wanted, label) {
    const there = this.marks.find((mark) => mark.period === wanted.period && mark.clockS === wanted.clockS);
    if (there) return this.arrive(there.filmMs, this.words.marked.replace("{clock}", label));
    const [from, to] = windowOf(this.marks, wanted.period, wanted.clockS, this.rules, this.endMs);
    const seconds = Math.round((to - from) / 1000);
    const words = seconds ? this.words.between : this.words.exact;
    this.arrive(from, words.replace("{clock}", label).replace("{from}", clock(from)).replace("{to}", clock(to)).replace("{seconds}", seconds));
  }

  /** The words hold for this frame only: they go when the film moves on. */
  async arrive(ms, words) {
    this.arrivedMs = null;
    this.goDialog.close();
    await this.player.seek(ms);
    this.say(words);
    this.arrivedMs = words ? this.now() : null;
  }
}

customElements.define("film-clock", FilmClock);
