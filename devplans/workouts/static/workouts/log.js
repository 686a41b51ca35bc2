import { Book, newWorkout } from "./book.js";
import { Sender } from "./sender.js";
import { Shelf } from "./shelf.js";
import { strokes } from "./strokes.js";

const LONG_AGO_MS = 3 * 60 * 60 * 1000;

function clock(instant) {
  return new Date(instant).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
}

/**
 * <workout-log data-player data-url data-hand data-first> with the parts of workouts/log.html.
 * Keeps one workout on this phone, draws it, and sends it after every change.
 */
customElements.define("workout-log", class extends HTMLElement {
  connectedCallback() {
    this.drills = this.#json("log-drills");
    this.words = this.#json("log-words");
    this.stop = new AbortController();
    this.shelf = new Shelf(document.body.dataset.person, this.dataset.player);
    this.sender = new Sender({
      url: this.dataset.url,
      tell: (state, message) => this.#tell(state, message),
      store: (workout) => this.shelf.put(workout),
    });
    this.#open(this.shelf.take());
    this.#listen();
    this.#begin();
  }

  disconnectedCallback() {
    this.stop.abort();
    this.sender.stop();
    clearInterval(this.ticking);
  }

  #open(kept) {
    const workout = kept ?? newWorkout(this.dataset.player);
    this.book = new Book(workout, this.drills, { hand: this.dataset.hand });
  }

  get workout() {
    return this.book.workout;
  }

  part(name) {
    return this.querySelector(`[data-part="${name}"]`);
  }

  #json(id) {
    return JSON.parse(this.querySelector(`#${id}`).textContent);
  }

  #listen() {
    const on = (target, name, run) => target.addEventListener(name, run, { signal: this.stop.signal });
    on(this, "click", (event) => this.#clicked(event));
    on(this, "input", (event) => this.#typed(event));
    on(this.part("typed"), "submit", (event) => this.#typeIn(event));
    on(this.part("finish"), "submit", (event) => this.#finish(event));
    on(this, "htmx:afterSettle", () => this.book.drill && this.#drawDrill());
    on(window, "online", () => this.sender.now(this.workout).then((all) => this.#afterSending(all)));
    on(window, "storage", (event) => event.key === this.shelf.key && this.#reload());
    on(window, "pagehide", () => this.#keep());
  }

  #begin() {
    const { workout } = this;
    if (workout.finished) {
      this.#show("done");
      this.#send();
      return;
    }
    const old = Date.now() - Date.parse(workout.touched_at) > LONG_AGO_MS;
    this.part("resume").hidden = this.book.isEmpty || !old;
    if (this.dataset.first in this.drills) this.book.choose(this.dataset.first);
    this.#show(this.book.drill ? "count" : "choose");
    if (workout.changed && !this.book.isEmpty) this.sender.soon(workout);
    else if (workout.revision) this.#tell("saved");
  }

  #reload() {
    const kept = this.shelf.take();
    if (!kept) return;
    this.#open(kept);
    this.#show(kept.finished ? "done" : this.book.drill ? "count" : "choose");
  }

  #clicked(event) {
    const drill = event.target.closest("[data-drill]");
    if (drill && this.part("choose").contains(drill)) {
      event.preventDefault();
      this.book.choose(drill.dataset.drill);
      this.#keep();
      this.#show("count", true);
      return;
    }
    const button = event.target.closest("[data-do]");
    const action = button && this.actions[button.dataset.do];
    if (action) action(button);
  }

  actions = {
    made: () => this.#counted(() => this.book.made()),
    missed: () => this.#counted(() => this.book.missed()),
    reps: (button) => this.#counted(() => this.book.add(Number(button.dataset.reps))),
    timer: () => this.#time(),
    undo: () => this.#counted(() => this.book.undo()),
    side: (button) => this.#counted(() => this.book.turn(button.value)),
    "end-set": () => this.#counted(() => this.book.endSet()),
    type: () => this.#toggleTyping(),
    "next-drill": () => this.#show("choose", true),
    "to-finish": () => this.#askAtTheEnd(),
    back: () => this.#show(this.book.drill ? "count" : "choose", true),
    "try-now": () => this.#send(),
    change: () => this.#changeAnswers(),
    renew: () => { this.book.renew(); this.#send(); },
    "throw-away": () => this.#throwAway(),
    another: () => this.#startOver(),
  };

  #counted(change) {
    change();
    this.#keep();
    this.#drawSets();
    if (!this.book.isEmpty || this.workout.revision) this.sender.soon(this.workout);
  }

  #keep() {
    const { workout } = this;
    const isSent = workout.finished && !workout.changed && workout.acknowledged === workout.revision;
    if (isSent || (this.book.isEmpty && !workout.revision)) return;
    this.part("unkept").hidden = this.shelf.put(this.workout);
  }

  #send() {
    this.sender.now(this.workout).then((all) => this.#afterSending(all));
  }

  #afterSending(all) {
    if (!all || !this.workout.finished || !this.part("sent").hidden) return;
    this.shelf.clear();
    this.part("sent").hidden = false;
    this.part("read").href = this.dataset.read.replace(this.dataset.player, this.workout.id);
    this.part("read").focus();
  }

  // --- drawing ---

  #show(name, move = false) {
    for (const section of ["choose", "count", "finish", "done"]) this.part(section).hidden = section !== name;
    if (name === "count") this.#drawDrill();
    this.part("go-on").hidden = this.book.isEmpty;
    if (name === "done") this.part("hurts").hidden = !this.workout.pain;
    if (move) this.part(name).querySelector("h1, h2").focus();
  }

  #drawDrill() {
    const { drill } = this.book;
    this.part("name").textContent = drill.name;
    this.part("aim").textContent = [drill.aim, this.#thisWeek()].filter(Boolean).join(" · ");
    this.part("how").textContent = drill.how;
    this.part("how").closest("details").hidden = !drill.how;
    this.querySelectorAll("[data-for]").forEach((one) => { one.hidden = one.dataset.for !== drill.counts; });
    this.part("typed").hidden = true;
    this.part("sides").hidden = drill.sides === "none";
    this.#drawSets();
  }

  /** What the plan's row of this drill says of the week; the rows arrive after the page. */
  #thisWeek() {
    const row = this.part("plan").querySelector(`[data-drill="${CSS.escape(this.workout.drill)}"] .faded`);
    return row ? this.words.week.replace("{done}", row.textContent.trim()) : "";
  }

  #drawSets() {
    if (!this.book.drill) return;
    const { sets, open, side } = this.book;
    const rows = sets.map((one) => this.#row(one, one === open));
    if (!open) rows.push(this.#row({ side }, true));
    this.part("rows").replaceChildren(...rows);
    this.part("full").hidden = Boolean(open) || sets.length < this.book.drill.sets;
    this.part("began").textContent = this.book.isEmpty ? "" : clock(this.workout.started_at);
    this.querySelectorAll('[data-do="side"]').forEach((one) => { one.checked = one.value === side; });
    this.querySelector('[data-do="undo"]').disabled = !this.book.canUndo;
    this.querySelector('[data-do="end-set"]').disabled = !open;
    this.part("heard").textContent = this.#words(open ?? sets.at(-1) ?? {});
  }

  #row(one, current) {
    const row = document.createElement("li");
    row.className = current ? "log-row current" : "log-row";
    const side = document.createElement("span");
    side.textContent = this.words.sides[one.side] || this.words.set;
    const drawn = document.createElement("span");
    drawn.append(strokes(one.made ?? one.reps ?? 0));
    const said = document.createElement("span");
    said.className = "of";
    said.textContent = this.#words(one) || "–";
    row.append(side, drawn, said);
    return row;
  }

  #words(one) {
    const { words } = this;
    if (one.tried) return words.of.replace("{made}", one.made).replace("{tried}", one.tried);
    if (one.reps) return words.reps.replace("{count}", one.reps);
    return one.seconds ? words.seconds.replace("{count}", one.seconds) : "";
  }

  #tell(state, message = "") {
    const line = this.part("state");
    const count = this.workout.sets.length;
    line.textContent = (this.words.states[state] ?? "").replace("{message}", message).replace("{count}", count);
    line.dataset.state = state;
    this.part("retry").hidden = state !== "offline";
    this.part("signed-out").hidden = state !== "signed-out";
    this.part("conflict").hidden = state !== "conflict";
    this.part("refused").hidden = state !== "refused" || !this.workout.finished;
    if (state === "saved") this.#afterSending(this.workout.finished);
  }

  // --- typing, timing, finishing ---

  #toggleTyping() {
    const form = this.part("typed");
    form.hidden = !form.hidden;
    this.querySelector('[data-do="type"]').setAttribute("aria-expanded", String(!form.hidden));
    if (!form.hidden) form.querySelector("[data-for]:not([hidden]) input").focus();
  }

  #typeIn(event) {
    event.preventDefault();
    const form = event.target;
    const number = (name) => (form.elements[name].value === "" ? null : Number(form.elements[name].value));
    const wrong = this.book.type({
      made: number("made"), tried: number("tried"), reps: number("reps"), seconds: number("seconds"),
    });
    this.part("typed-wrong").textContent = this.words.wrong[wrong] ?? "";
    if (wrong) return;
    form.reset();
    this.#toggleTyping();
    this.#counted(() => {});
    this.querySelector('[data-do="type"]').focus();
  }

  #time() {
    const button = this.querySelector('[data-do="timer"]');
    if (this.ticking) {
      clearInterval(this.ticking);
      this.ticking = null;
      const seconds = Math.max(1, Math.round((Date.now() - this.timedFrom) / 1000));
      button.textContent = this.words.start;
      this.#counted(() => this.book.type({ seconds }));
      return;
    }
    this.timedFrom = Date.now();
    const draw = () => {
      const seconds = Math.round((Date.now() - this.timedFrom) / 1000);
      button.textContent = this.words.stop.replace("{count}", seconds);
    };
    draw();
    this.ticking = setInterval(draw, 1000);
  }

  #askAtTheEnd() {
    const minutes = this.part("finish").elements.minutes;
    if (!minutes.value) minutes.value = this.book.minutesSoFar();
    this.book.endSet();
    this.part("resume").hidden = true;
    this.#show("finish", true);
  }

  #typed(event) {
    const form = this.part("finish");
    if (event.target.name === "effort") this.part("effort-words").textContent = event.target.dataset.words;
    if (event.target.name === "hurts") {
      this.part("where").hidden = form.elements.hurts.value !== "yes";
      if (!this.part("where").hidden) form.elements.pain.focus();
    }
    if (event.target.dataset.part === "filter") this.#filter(event.target.value.trim().toLowerCase());
  }

  #filter(text) {
    this.part("choose").querySelectorAll("[data-family]").forEach((family) => {
      const rows = [...family.querySelectorAll("li")];
      rows.forEach((row) => { row.hidden = !row.textContent.toLowerCase().includes(text); });
      family.hidden = rows.every((row) => row.hidden);
      family.open = Boolean(text);
    });
  }

  #finish(event) {
    event.preventDefault();
    const { minutes, effort, kind, hurts, pain, note } = event.target.elements;
    const isFit = minutes.validity.valid;
    minutes.setAttribute("aria-invalid", String(!isFit));
    this.part("minutes-wrong").textContent = isFit ? "" : this.words.wrong.minutes;
    if (!isFit) {
      minutes.focus();
      return;
    }
    this.book.finish({
      minutes: minutes.value === "" ? null : Number(minutes.value),
      effort: effort.value === "" ? null : Number(effort.value),
      kind: kind.value,
      pain: hurts.value === "yes" ? pain.value.trim() || this.words.hurts : "",
      note: note.value.trim(),
    });
    this.#keep();
    this.#show("done", true);
    this.#send();
  }

  /** The server refused what was answered: the same questions again, with the answers in them. */
  #changeAnswers() {
    const form = this.part("finish");
    const { minutes, effort, kind, pain, note } = this.workout;
    form.elements.minutes.value = minutes ?? "";
    form.elements.effort.value = String(effort ?? "");
    form.elements.kind.value = kind;
    form.elements.hurts.value = pain ? "yes" : "no";
    form.elements.pain.value = pain;
    form.elements.note.value = note;
    this.part("where").hidden = !pain;
    this.part("refused").hidden = true;
    this.book.reopen();
    this.#keep();
    this.#show("finish", true);
  }

  async #throwAway() {
    try {
      await this.sender.remove(this.workout);
    } catch (error) {
      this.#tell(error.status ? "refused" : "offline", error.message);
      return;
    }
    this.#startOver();
  }

  #startOver() {
    this.shelf.clear();
    this.#open(null);
    this.part("finish").reset();
    this.part("where").hidden = this.part("sent").hidden = this.part("resume").hidden = true;
    this.#tell("nothing");
    this.#show("choose", true);
  }
});
