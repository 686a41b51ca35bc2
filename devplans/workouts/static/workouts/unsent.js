import { Book } from "./book.js";
import { actButton, Choice, unsentWords } from "./choice.js";
import { outbox, UNDO_MS } from "./outbox.js";
import { isConflict } from "./rows.js";
import { asText, sumAsText } from "./text.js";

const SOON_MS = 4000;

/**
 * <unsent-line> of components/_offline.html: says on every page how many workouts this phone still
 * holds for the person who is signed in, what keeps them here, and what can be done about it.
 */
customElements.define("unsent-line", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    for (const name of ["change", "shelved"]) outbox.addEventListener(name, () => this.draw(), { signal });
    this.addEventListener("click", (event) => this.clicked(event), { signal });
    this.words = unsentWords();
    this.choice = new Choice(() => this.draw(), this.words);
    // What goes out by itself in a moment is not worth a line that comes and goes.
    this.timer = setTimeout(() => { this.isLate = true; this.draw(); }, SOON_MS);
    this.draw();
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.timer);
    clearTimeout(this.undoTimer);
  }

  part(name) {
    return this.querySelector(`[data-line="${name}"]`);
  }

  draw() {
    const rows = outbox.unsent;
    const { dropped } = outbox;
    const here = new Set([...outbox.shelves].map((shelf) => shelf.id));
    const looks = rows.filter((row) => row.state === "look" && !here.has(row.id));
    const isStuck = ["offline", "signed-out"].includes(outbox.mood) || !navigator.onLine;
    const isUnkept = rows.length > 0 && !outbox.isKept;
    // What is being counted on this page comes and goes with each tap, and is told there.
    const isLate = this.isLate && rows.some((row) => row.state === "look" || !here.has(row.id));
    const isCounted = rows.length > 0 && Boolean(isStuck || isUnkept || looks.length || isLate);
    this.hidden = !isCounted && !dropped.length;
    if (this.hidden) return;
    const { words } = this;
    const count = (rows.length === 1 ? words.one : words.many).replace("{count}", rows.length);
    const why = outbox.mood === "signed-out" ? words.signedOut : isStuck ? words.offline : "";
    this.part("count").textContent = isCounted ? [count, why, isUnkept ? words.unkept : ""].filter(Boolean).join(" ") : "";
    this.part("sign-in").hidden = outbox.mood !== "signed-out";
    this.part("sign-in").search = new URLSearchParams({ next: location.pathname + location.search });
    this.querySelector("[data-act=copy]").hidden = !isCounted;
    this.querySelector("[data-act=send]").hidden = !isCounted || rows.every(isConflict);
    this.list(looks, dropped);
    if (!this.part("text").hidden) this.part("text").value = this.text();
  }

  /** Drawn anew only where something is to be said: a button keeps its focus. */
  list(looks, dropped) {
    const told = JSON.stringify([
      looks.map((row) => [row.id, row.status, row.said, row.version, isConflict(row) && this.choice.of(row)]),
      dropped.map(({ id }) => id),
    ]);
    if (told === this.told) return;
    this.told = told;
    this.part("looks").replaceChildren(...looks.map((row) => this.look(row)), ...dropped.map((row) => this.undo(row)));
    clearTimeout(this.undoTimer);
    if (dropped.length) this.undoTimer = setTimeout(() => this.draw(), UNDO_MS);
  }

  /** One that the server refused: what it is, what the server says, what can be done. */
  look(row) {
    const { words } = this;
    const isDouble = isConflict(row);
    const { both, acts } = isDouble ? this.choice.of(row) : { both: "", acts: ["drop"] };
    const said = [`${this.named(row)} · ${row.said}`, isDouble ? words.conflict : words.refused, both].filter(Boolean);
    const actions = document.createElement("p");
    actions.className = "actions";
    if (!isDouble) actions.append(this.opener(row));
    actions.append(...acts.map((act) => actButton(act, words, row.id)));
    return line(said.join(" "), actions);
  }

  undo(row) {
    const actions = document.createElement("p");
    actions.className = "actions";
    actions.append(actButton("undo", this.words, row.id));
    return line(`${this.named(row)} · ${this.words.dropped}`, actions);
  }

  named({ workout }) {
    return `${new Date(workout.started_at).toLocaleString()} · ${sumAsText(workout, this.words)}`;
  }

  opener(row) {
    const log = document.createElement("a");
    const path = this.dataset.log.replace(this.dataset.nobody, row.player);
    return Object.assign(log, { className: "button small", href: `${path}?workout=${row.id}`, textContent: this.words.open });
  }

  text() {
    return asText(outbox.unsent, this.words);
  }

  async clicked(event) {
    const { act, row: id } = event.target.closest("[data-act]")?.dataset ?? {};
    if (act === "send") outbox.drain({ again: true });
    if (act === "copy") await this.copy();
    if (act === "mine") await this.choice.insist(id);
    if (act === "renew") await renew(id);
    if (act === "drop" || act === "theirs") await this.throwAway(id);
    if (act === "undo") await outbox.bringBack(id);
  }

  async throwAway(id) {
    await outbox.throwAway(id);
    this.querySelector(`[data-act=undo][data-row="${CSS.escape(id)}"]`)?.focus();
  }

  /** Into the clipboard where that can be, and there to select in any case. */
  async copy() {
    const field = this.part("text");
    field.hidden = false;
    field.value = this.text();
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      this.part("copied").textContent = this.words.copied;
    } catch {
      // an old browser, or a page without https: the text is selected
    }
  }
});

function line(text, actions) {
  const row = document.createElement("li");
  const what = document.createElement("p");
  what.textContent = text;
  row.append(what, actions);
  return row;
}

/** As another workout, beside the one that the server holds. */
async function renew(id) {
  const row = outbox.row(id);
  if (!row) return;
  const workout = structuredClone(row.workout);
  new Book(workout, {}).renew();
  await outbox.put(workout);
  await outbox.drop(id);
  outbox.drain();
}
