import { Book } from "./book.js";
import { outbox, UNDO_MS } from "./outbox.js";
import { asText, sumAsText } from "./text.js";

const SOON_MS = 4000;

/**
 * <unsent-line> of components/_offline.html: says on every page how many workouts this phone still
 * holds for the person who is signed in, what keeps them here, and what can be done about it.
 */
customElements.define("unsent-line", class extends HTMLElement {
  /** What the server holds in the place of a workout that it refused: id -> {body} once it is known. */
  theirs = new Map();

  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    for (const name of ["change", "shelved"]) outbox.addEventListener(name, () => this.draw(), { signal });
    this.addEventListener("click", (event) => this.clicked(event), { signal });
    this.words = JSON.parse(this.querySelector("script").textContent);
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
    const isCounted = rows.length > 0 && (isStuck || isUnkept || looks.length > 0 || Boolean(this.isLate));
    this.hidden = !isCounted && !dropped.length;
    if (this.hidden) return;
    const { words } = this;
    const count = (rows.length === 1 ? words.one : words.many).replace("{count}", rows.length);
    const why = outbox.mood === "signed-out" ? words.signedOut : isStuck ? words.offline : "";
    this.part("count").textContent = isCounted ? [count, why, isUnkept ? words.unkept : ""].filter(Boolean).join(" ") : "";
    this.part("sign-in").hidden = outbox.mood !== "signed-out";
    this.part("sign-in").search = new URLSearchParams({ next: location.pathname + location.search });
    for (const name of ["send", "copy"]) this.querySelector(`[data-act=${name}]`).hidden = !isCounted;
    this.list(looks, dropped);
    if (!this.part("text").hidden) this.part("text").value = this.text();
  }

  /** Drawn anew only where something is to be said: a button keeps its focus. */
  list(looks, dropped) {
    const told = JSON.stringify([
      looks.map(({ id, status, said, version }) => [id, status, said, version, this.theirs.get(id) ?? null]),
      dropped.map(({ id }) => id),
    ]);
    if (told === this.told) return;
    this.told = told;
    this.part("looks").replaceChildren(...looks.map((row) => this.look(row)), ...dropped.map((row) => this.undo(row)));
    looks.filter((row) => row.status === 409 && !this.theirs.has(row.id)).forEach((row) => this.compare(row.id));
    clearTimeout(this.undoTimer);
    if (dropped.length) this.undoTimer = setTimeout(() => this.draw(), UNDO_MS);
  }

  /** What the server has in its place, so that one can choose. */
  async compare(id) {
    try {
      this.theirs.set(id, { body: await outbox.theirs(id) });
    } catch {
      // without an answer both can still be kept
    }
    this.draw();
  }

  /** One that the server refused: what it is, what the server says, what can be done. */
  look(row) {
    const { words } = this;
    const there = this.theirs.get(row.id)?.body;
    const isConflict = row.status === 409;
    const said = [`${this.named(row)} · ${row.said}`, isConflict ? words.conflict : words.refused];
    if (there) said.push(words.both.replace("{here}", sumAsText(row.workout, words)).replace("{there}", sumAsText(there, words)));
    const actions = document.createElement("p");
    actions.className = "actions";
    if (isConflict && there) actions.append(this.button("mine", words.mine, row), this.button("drop", words.theirs, row));
    if (isConflict) actions.append(this.button("renew", words.renew, row));
    else actions.append(this.opener(row));
    if (!there) actions.append(this.button("drop", words.drop, row));
    return line(said.join(" "), actions);
  }

  undo(row) {
    const actions = document.createElement("p");
    actions.className = "actions";
    actions.append(this.button("undo", this.words.undo, row));
    return line(`${this.named(row)} · ${this.words.dropped}`, actions);
  }

  named({ workout }) {
    return `${new Date(workout.started_at).toLocaleString()} · ${sumAsText(workout, this.words)}`;
  }

  button(name, label, row) {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "button small", textContent: label });
    Object.assign(made.dataset, { act: name, row: row.id });
    return made;
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
    if (act === "mine") await this.insist(id);
    if (act === "renew") await renew(id);
    if (act === "drop") await this.throwAway(id);
    if (act === "undo") await outbox.bringBack(id);
  }

  async throwAway(id) {
    await outbox.throwAway(id);
    this.querySelector(`[data-act=undo][data-row="${CSS.escape(id)}"]`)?.focus();
  }

  /** In the place of what the server had when the choice was shown; something newer is shown first. */
  async insist(id) {
    const { revision } = this.theirs.get(id).body;
    this.theirs.delete(id);
    await outbox.insist(id, revision);
    this.draw();
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
