/**
 * <practice-plan>: the drills of one practice, their order and minutes. The plan is the list on the
 * page; after each change it is written into the address ("plan=drill:minutes,…"), so that a reload,
 * paper and another coach who gets the address show the same. Undo takes back one change after another;
 * what it needs for that is kept in this tab, so that a reload, another target and a plan made afresh
 * can be undone too.
 */
const LEAST_MINUTES = 1;
const MOST_MINUTES = 180;
const MOST_ITEMS = 30;
const MOST_UNDONE = 50;

function clamp(minutes) {
  return Math.min(MOST_MINUTES, Math.max(LEAST_MINUTES, Math.round(minutes)));
}

function written(plan) {
  return plan.map(([key, minutes]) => `${key}:${minutes}`).join(",");
}

customElements.define("practice-plan", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.facts = JSON.parse(this.querySelector("#practice-facts").textContent);
    this.list = this.querySelector("[data-items]");
    this.before = this.remembered();
    this.note = document.createElement("p");
    this.note.className = "small plan-note";
    this.addEventListener("click", (event) => this.press(event), { signal });
    this.addEventListener("change", (event) => this.type(event), { signal });
    this.querySelector("[data-afresh]").addEventListener("click", () => this.remember(true), { signal });
    document.querySelector(".need-target")?.addEventListener("submit", (event) => this.aim(event), { signal });
    this.sum();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  items() {
    return [...this.list.children];
  }

  plan() {
    return this.items().map((row) => [row.dataset.key, Number(row.dataset.minutes)]);
  }

  press(event) {
    const button = event.target.closest("button");
    if (!button) return;
    const row = button.closest(".plan-item");
    const { dataset } = button;
    if ("less" in dataset) this.last(row, Number(row.dataset.minutes) - 1);
    else if ("more" in dataset) this.last(row, Number(row.dataset.minutes) + 1);
    else if ("up" in dataset) this.move(row, row.previousElementSibling, button);
    else if ("down" in dataset) this.move(row, row.nextElementSibling, button);
    else if ("out" in dataset) this.takeOut(row);
    else if ("add" in dataset) this.add(this.querySelector("#plan-drill").value);
    else if ("undo" in dataset) this.undo();
    else if ("print" in dataset) print();
  }

  type(event) {
    if (!("typed" in event.target.dataset)) return;
    this.last(event.target.closest(".plan-item"), event.target.valueAsNumber);
  }

  /** Minutes that a drill cannot have become the nearest it can, and that is said. */
  last(row, asked) {
    const before = Number(row.dataset.minutes);
    const minutes = Number.isNaN(asked) ? before : clamp(asked);
    if (minutes !== before) this.keep();
    this.set(row, minutes);
    if (minutes !== before) this.changed();
    if (minutes !== asked) {
      const values = { least: LEAST_MINUTES, most: MOST_MINUTES, minutes };
      this.tell(this.words("range", values), row.querySelector(".plan-body > div"));
    }
  }

  set(row, minutes) {
    row.dataset.minutes = clamp(minutes);
    row.querySelector("[data-typed]").value = row.dataset.minutes;
    row.querySelector("[data-length]").textContent = row.dataset.minutes;
  }

  move(row, other, button) {
    if (!other) return;
    this.keep();
    if ("up" in button.dataset) other.before(row);
    else other.after(row);
    this.changed(this.words("moved", { name: this.name(row), place: this.items().indexOf(row) + 1 }));
    button.focus();
  }

  takeOut(row) {
    this.keep();
    const next = row.nextElementSibling ?? row.previousElementSibling;
    row.remove();
    this.changed(this.words("taken", { name: this.name(row) }));
    (next?.querySelector("[data-out]") ?? this.querySelector("[data-undo]")).focus();
  }

  add(key) {
    if (!this.facts.drills[key]) return;
    const rows = this.items();
    if (rows.length >= MOST_ITEMS) return this.tell(this.words("full", { most: MOST_ITEMS }));
    const place = rows.findIndex((row) => row.dataset.key === key) + 1;
    if (place && this.twice !== key) {
      this.tell(this.words("twice", { name: this.facts.drills[key].name, place }));
      this.twice = key;
      return;
    }
    this.keep();
    const row = this.row(key, this.facts.drills[key].minutes);
    this.list.append(row);
    this.changed(this.words("added", { name: this.name(row) }));
  }

  row(key, minutes) {
    const drill = this.facts.drills[key];
    const row = this.querySelector("template").content.firstElementChild.cloneNode(true);
    row.dataset.key = key;
    row.querySelector("[data-name]").textContent = drill.name;
    row.querySelector("[data-skill]").textContent = drill.skill;
    row.querySelector("[data-how]").textContent = drill.how;
    row.querySelector("[data-needs]").textContent = drill.told;
    row.querySelector(".plan-tools").setAttribute("aria-label", drill.name);
    this.set(row, minutes);
    return row;
  }

  /** Why something was not done as asked, at its place: in the row, or above the buttons. */
  tell(words, place = this.querySelector(".plan-add")) {
    this.twice = null;
    this.note.textContent = words;
    if (place.matches(".plan-add")) place.before(this.note);
    else place.append(this.note);
    this.querySelector("[data-said]").textContent = words;
  }

  keep() {
    this.before.push(this.plan());
    this.before.splice(0, this.before.length - MOST_UNDONE);
  }

  get place() {
    return `practice-plan ${location.pathname} ${this.facts.event}`;
  }

  /** The plans before this one, of this practice; none where another plan was opened meanwhile. */
  remembered() {
    try {
      const { now, before, isAfresh } = JSON.parse(sessionStorage.getItem(this.place));
      if (written(now) === written(this.plan())) return before;
      return isAfresh && !new URL(location.href).searchParams.has("plan") ? [...before, now] : [];
    } catch {
      return [];
    }
  }

  remember(isAfresh = false) {
    try {
      const kept = { now: this.plan(), before: this.before, isAfresh };
      sessionStorage.setItem(this.place, JSON.stringify(kept));
    } catch {
      // Storage is full or refused: undo lasts until the page is left.
    }
  }

  undo() {
    const plan = this.before.pop();
    if (!plan) return;
    const known = plan.filter(([key]) => this.facts.drills[key]);
    this.list.replaceChildren(...known.map(([key, minutes]) => this.row(key, minutes)));
    this.changed(this.words("undone"));
    if (!this.before.length) this.querySelector("[data-add]").focus();
  }

  changed(said = "") {
    this.twice = null;
    this.note.remove();
    const address = new URL(location.href);
    address.searchParams.set("plan", written(this.plan()));
    if (this.facts.event) address.searchParams.set("practice", this.facts.event);
    history.replaceState(history.state, "", address);
    this.remember();
    this.sum();
    this.querySelector("[data-said]").textContent = said || this.querySelector("[data-summed]").textContent;
  }

  /** Another target leaves a plan that was edited as it is. */
  aim(event) {
    event.preventDefault();
    const address = new URL(location.href);
    address.searchParams.set("target", event.target.elements.target.value);
    location.assign(address);
  }

  /** The times in the margin and what is left of the practice. */
  sum() {
    let passed = 0;
    const rows = this.items();
    rows.forEach((row, place) => {
      row.querySelector("[data-at]").textContent = this.clock(passed);
      row.querySelector("[data-up]").disabled = place === 0;
      row.querySelector("[data-down]").disabled = place === rows.length - 1;
      passed += Number(row.dataset.minutes);
    });
    const all = this.facts.minutes;
    const told = passed > all
      ? this.words("over", { used: passed, over: passed - all })
      : this.words("sum", { used: passed, all, left: all - passed });
    this.querySelector("[data-summed]").textContent = told;
    this.querySelector("[data-empty]").hidden = rows.length > 0;
    this.querySelector("[data-undo]").disabled = !this.before.length;
    // Paper is of no use without a plan; then adding is what comes first.
    this.querySelector("[data-print]").hidden = !rows.length;
    this.querySelector("[data-add]").classList.toggle("primary", !rows.length);
  }

  clock(passed) {
    if (!this.facts.event) return `${passed}′`;
    const at = (this.facts.start + passed) % (24 * 60);
    return `${String(Math.floor(at / 60)).padStart(2, "0")}:${String(at % 60).padStart(2, "0")}`;
  }

  name(row) {
    return row.querySelector("[data-name]").textContent;
  }

  words(key, values = {}) {
    return this.dataset[key].replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
  }
});
