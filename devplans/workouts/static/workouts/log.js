import { Court } from "./court.js";
import { Desk, mostUrgent } from "./desk.js";
import { Finish } from "./finish.js";
import { atBasket, Turns } from "./group.js";
import { remember, remembered } from "./habits.js";
import { filterDrills, numbersIn } from "./parts.js";
import { clock, drawDone, drawWholeSets, line, minutesAndSeconds, said } from "./sheet.js";
import { State } from "./state.js";
import { Awake, Rest, Stopwatch } from "./timer.js";

const LONG_AGO_MS = 3 * 60 * 60 * 1000;

/**
 * <workout-log data-url data-first data-read> with the parts of workouts/log.html.
 * Keeps one workout of each player on this phone, draws it, and sends it after every change.
 */
customElements.define("workout-log", class extends HTMLElement {
  connectedCallback() {
    this.words = this.#json("log-words");
    this.drills = this.#json("log-drills");
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.desks = atBasket(this, this.#json("log-players")).map((player) => new Desk({
      person: document.body.dataset.person,
      player,
      url: this.dataset.url,
      drills: this.drills,
      tell: () => this.#tell(),
    }));
    const { words } = this;
    this.turns = new Turns(this.part("turn"), this.desks, {
      leaving: () => this.#stopWatch(), turned: () => this.#turned(), words, signal,
    });
    this.finish = new Finish(this.part("finish"), words, () => this.present.map((desk) => desk.player));
    this.state = new State(this, words.states, {
      // What is counted next is another workout, of the same drill if this one was not over.
      theirs: (desk) => this.#startOver([desk], desk.workout.finished ? null : desk.workout.drill),
      renew: (desk) => { desk.book.renew(); this.#send(); },
    }, signal);
    this.awake = new Awake(signal);
    this.rest = new Rest((left) => this.#drawRest(left));
    this.watch = new Stopwatch((seconds) => this.#drawWatch(seconds));
    this.court = new Court(this.part("count"), this.#json("log-court"), {
      stood: (place) => this.#stood(place), words: words.court, signal,
    });
    this.querySelector('[data-do="court"]').checked = remembered("court") === "yes";
    const rest = this.part("rest").querySelector(`[value="${CSS.escape(remembered("rest") || "0")}"]`);
    if (rest) rest.checked = true;
    this.#listen();
    this.#begin();
  }

  disconnectedCallback() {
    this.stop.abort();
    this.desks.forEach((desk) => desk.sender.stop());
    this.watch.stop();
    this.rest.stop();
  }

  get book() {
    return this.turns.desk.book;
  }

  get workout() {
    return this.book.workout;
  }

  /** Whose workouts are over; before that, whose will be: who did something, or else everybody. */
  get finished() {
    return this.desks.filter((desk) => desk.workout.finished);
  }

  get present() {
    const busy = this.desks.filter((desk) => desk.isWorthKeeping);
    return busy.length ? busy : this.desks;
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
    on(this, "htmx:afterSettle", () => this.book.drill && this.#drawAim());
    on(window, "online", () => this.#send());
    this.desks.forEach((desk) => desk.shelf.watch(() => this.#reload(desk), this.stop.signal));
    on(window, "pagehide", () => this.#keep());
  }

  #begin() {
    if (this.finished.length) {
      this.#show("done");
      this.#send();
      return;
    }
    const { desks } = this;
    const isOld = (desk) => Date.now() - Date.parse(desk.workout.touched_at) > LONG_AGO_MS;
    this.part("resume").hidden = !desks.some((desk) => !desk.book.isEmpty && isOld(desk));
    // Asked of the address: without a connection this page may have been made for another drill.
    const first = new URLSearchParams(location.search).get("drill") ?? "";
    if (first in this.drills) desks.forEach((desk) => desk.book.choose(first));
    this.#show(this.book.drill ? "count" : "choose");
    desks.forEach((desk) => {
      if (desk.workout.changed && !desk.book.isEmpty) desk.sendSoon();
      else if (!desk.isSent) desk.send();
      else if (desk.workout.revision) desk.state = "saved";
    });
    this.#tell();
  }

  #reload(desk) {
    const kept = desk?.shelf.take();
    if (!kept) return;
    desk.open(kept);
    desk.sender.retell();
    this.#show(this.finished.length ? "done" : this.book.drill ? "count" : "choose");
  }

  #clicked(event) {
    const drill = event.target.closest("[data-drill]");
    if (drill && this.part("choose").contains(drill)) {
      event.preventDefault();
      this.desks.forEach((desk) => desk.book.choose(drill.dataset.drill));
      this.#keep();
      this.#show("count", true);
      return;
    }
    const button = event.target.closest("[data-do]");
    const action = button && this.actions[button.dataset.do];
    if (action) action(button);
  }

  actions = {
    made: () => this.#shot((book, how) => book.made(how)),
    missed: () => this.#shot((book, how) => book.missed(how)),
    reps: (button) => this.#counted((book) => book.add(Number(button.dataset.reps))),
    whole: (button) => this.#whole(Number(button.dataset.count)),
    timer: () => this.#time(),
    undo: () => { this.turns.undo(); this.rest.stop(); this.#changed(); },
    side: (button) => this.#counted((book) => book.turn(button.value)),
    "end-set": () => this.#counted((book) => book.endSet()),
    type: () => this.#toggleTyping(),
    court: (button) => { remember("court", button.checked ? "yes" : ""); this.#drawDrill(); },
    rest: (button) => { remember("rest", button.value); this.rest.stop(); },
    "rest-over": () => this.rest.stop(),
    "next-drill": () => { this.#stopWatch(); this.#show("choose", true); },
    "to-finish": () => this.#askAtTheEnd(),
    back: () => this.#show(this.book.drill ? "count" : "choose", true),
    "try-now": () => this.#send(),
    change: () => this.#changeAnswers(),
    "nobody-else": () => this.finish.nobodyElse(),
    "throw-away": () => this.#throwAway(),
    another: () => this.#startOver(),
  };

  // --- counting ---

  /** Shots are placed where the court is open and the drill is one of makes. */
  get isPlaced() {
    return this.book.drill?.counts === "makes" && this.querySelector('[data-do="court"]').checked;
  }

  #shot(count) {
    const placed = this.isPlaced;
    if (placed && !this.workout.place) this.court.ask();
    else this.#counted((book) => count(book, { placed }));
  }

  #whole(count) {
    const { counts, per_set: tried } = this.book.drill;
    const placed = this.isPlaced;
    if (placed && !this.workout.place) {
      this.court.ask();
      return;
    }
    const whole = { makes: { made: count, tried }, reps: { reps: count }, seconds: { seconds: count } }[counts];
    this.#counted((book) => book.type(whole, { placed }));
  }

  #counted(change) {
    const { desk } = this.turns;
    const isOver = this.turns.counted(change);
    if (isOver) this.rest.start(Number(remembered("rest")));
    else this.rest.stop();
    this.#changed(desk);
  }

  #changed(desk = this.turns.desk) {
    this.#keep();
    this.#drawSets();
    desk.sendSoon();
  }

  #stood(place) {
    this.book.stand(place);
    this.#keep();
    this.#drawSets();
  }

  /** Somebody else's turn, at the same drill; he has a place of his own. */
  #turned() {
    this.#keep();
    if (!this.part("count").hidden) this.#drawDrill();
  }

  #keep() {
    const kept = this.desks.map((desk) => desk.keep());
    this.part("unkept").hidden = kept.every(Boolean);
  }

  #send() {
    this.desks.forEach((desk) => desk.send().then(() => this.#afterSending()));
  }

  #afterSending() {
    const { finished } = this;
    if (!finished.length || !finished.every((desk) => desk.isSent) || !this.part("sent").hidden) return;
    finished.forEach((desk) => desk.shelf.clear());
    this.part("sent").hidden = false;
    if (!this.turns.isGroup) this.part("read").href = this.dataset.read.replace(finished[0].player.id, finished[0].workout.id);
    this.part("read").focus();
  }

  // --- drawing ---

  #show(name, move = false) {
    for (const section of ["choose", "count", "finish", "done"]) this.part(section).hidden = section !== name;
    if (name === "count") this.#drawDrill();
    if (name === "done") this.awake.stop();
    else this.awake.start();
    this.part("go-on").hidden = this.desks.every((desk) => desk.book.isEmpty);
    if (name === "done") drawDone(this, this.finished, this.words.sum);
    if (move) this.part(name).querySelector("h1, h2").focus();
  }

  #drawDrill() {
    const { drill } = this.book;
    this.part("name").textContent = drill.name;
    this.#drawAim();
    this.part("how").textContent = drill.how;
    this.part("how").closest("details").hidden = !drill.how;
    this.querySelectorAll("[data-for]").forEach((one) => { one.hidden = one.dataset.for !== drill.counts; });
    this.part("typed").hidden = true;
    this.part("sides").hidden = drill.sides === "none";
    drawWholeSets(this.part("whole"), drill, this.words);
    this.part("court").hidden = this.part("listed").hidden = !this.isPlaced;
    this.part("count").classList.toggle("with-court", this.isPlaced);
    if (this.isPlaced) this.#openCourt();
    this.#drawSets();
  }

  /** Where a drill has one spot only, that is where it is shot from. */
  #openCourt() {
    this.court.open(this.workout.drill);
    if (!this.workout.place && this.court.onlySpot) this.book.stand(this.court.onlySpot);
  }

  /** With what the plan's row of this drill says of the week; the rows arrive after the page. */
  #drawAim() {
    const row = this.part("plan")?.querySelector(`[data-drill="${CSS.escape(this.workout.drill)}"] .faded`);
    const week = row ? this.words.week.replace("{done}", row.textContent.trim()) : "";
    this.part("aim").textContent = [this.book.drill.aim, week].filter(Boolean).join(" · ");
  }

  #drawSets() {
    if (!this.book.drill) return;
    const { sets, open, side } = this.book;
    const rows = sets.map((one) => line(one, one === open, this.words));
    if (!open) rows.push(line({ side }, true, this.words));
    this.part("rows").replaceChildren(...rows);
    this.part("full").hidden = Boolean(open) || sets.length < this.book.drill.sets;
    this.part("began").textContent = this.book.isEmpty ? "" : clock(this.workout.started_at);
    this.querySelectorAll('[data-do="side"]').forEach((one) => { one.checked = one.value === side; });
    this.querySelector('[data-do="undo"]').disabled = !this.turns.canUndo;
    this.querySelector('[data-do="end-set"]').disabled = !open;
    this.part("heard").textContent = said(open ?? sets.at(-1) ?? {}, this.words);
    if (this.isPlaced) this.court.draw({ place: this.workout.place, shots: this.book.shots });
    this.turns.draw();
  }

  #drawRest(left) {
    this.part("resting").hidden = left === null;
    if (left !== null) this.part("rest-left").textContent = left ? minutesAndSeconds(left) : this.words.go;
    if (left === 0) this.part("heard").textContent = this.words.go;
  }

  #drawWatch(seconds) {
    this.querySelector('[data-do="timer"]').textContent = this.words.stop.replace("{count}", seconds);
  }

  #tell() {
    const desk = mostUrgent(this.desks);
    this.state.draw(desk);
    if (desk.state === "saved") this.#afterSending();
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
    const placed = this.isPlaced && Boolean(this.workout.place);
    let wrong = "";
    this.#counted((book) => { wrong = book.type(numbersIn(form), { placed }); });
    this.part("typed-wrong").textContent = this.words.wrong[wrong] ?? "";
    if (wrong) return;
    form.reset();
    this.#toggleTyping();
    this.querySelector('[data-do="type"]').focus();
  }

  #time() {
    if (!this.watch.isRunning) {
      this.rest.stop();
      this.watch.start();
      return;
    }
    this.#stopWatch();
  }

  /** What the watch ran for belongs to the player and the drill it was started for. */
  #stopWatch() {
    if (!this.watch.isRunning) return;
    const seconds = this.watch.stop();
    this.querySelector('[data-do="timer"]').textContent = this.words.start;
    this.#counted((book) => book.type({ seconds }));
  }

  #askAtTheEnd() {
    this.#stopWatch();
    this.finish.ask(Math.max(...this.present.map((desk) => desk.book.minutesSoFar())));
    this.desks.forEach((desk) => desk.book.endSet());
    this.rest.stop();
    this.part("resume").hidden = true;
    this.#show("finish", true);
  }

  #typed({ target }) {
    if (target.dataset.part === "filter") filterDrills(this.part("choose"), target.value);
    if (this.part("typed").contains(target)) this.part("typed-wrong").textContent = "";
    if (this.part("finish").contains(target)) this.finish.changed(target);
  }

  #finish(event) {
    event.preventDefault();
    if (!this.finish.check()) return;
    this.present.forEach((desk) => desk.book.finish(this.finish.answers(desk.player.id)));
    this.#keep();
    this.#show("done", true);
    this.#send();
  }

  /** The server refused what was answered: the same questions again, with the answers in them. */
  #changeAnswers() {
    const { finished } = this;
    finished.forEach((desk) => { this.finish.fill(desk.workout, desk.player.id); desk.book.reopen(); });
    this.finish.ask();
    this.part("refused").hidden = true;
    this.#keep();
    this.#show("finish", true);
  }

  async #throwAway() {
    const those = this.finished.length ? this.finished : this.desks;
    try {
      for (const desk of those) await desk.remove();
    } catch (error) {
      Object.assign(mostUrgent(those), { state: error.status ? "refused" : "offline", message: error.message });
      this.#tell();
      return;
    }
    this.#startOver(those);
  }

  #startOver(those = this.finished.length ? this.finished : [mostUrgent(this.desks)], drill = null) {
    those.forEach((desk) => { desk.startOver(); desk.book.choose(drill); });
    this.turns.order = this.turns.order.filter((desk) => !those.includes(desk));
    if (!this.finished.length) this.finish.reset();
    this.part("sent").hidden = this.part("resume").hidden = true;
    this.#show(this.finished.length ? "done" : drill && this.book.drill ? "count" : "choose", true);
    this.#tell();
    this.#afterSending();
  }
});
