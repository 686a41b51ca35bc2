import { Book } from "./book.js";
import { isUnsent, outbox } from "./outbox.js";
import { asText } from "./text.js";

const SOON_MS = 4000;

/**
 * <unsent-line> of workouts/_unsent.html: says on every page how many workouts this phone still
 * holds for the person who is signed in, what keeps them here, and what can be done about it.
 */
customElements.define("unsent-line", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    outbox.addEventListener("change", () => this.draw(), { signal });
    this.addEventListener("click", (event) => this.clicked(event), { signal });
    this.words = JSON.parse(this.querySelector("script").textContent);
    // What goes out by itself in a moment is not worth a line that comes and goes.
    this.timer = setTimeout(() => { this.isLate = true; this.draw(); }, SOON_MS);
    this.draw();
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.timer);
  }

  part(name) {
    return this.querySelector(`[data-line="${name}"]`);
  }

  draw() {
    const rows = outbox.unsent;
    const here = new Set([...outbox.shelves].map((shelf) => shelf.id));
    const looks = rows.filter((row) => row.state === "look" && !here.has(row.id));
    const isStuck = ["offline", "signed-out"].includes(outbox.mood) || !navigator.onLine;
    this.hidden = !rows.length || !(isStuck || looks.length || this.isLate);
    if (this.hidden) return;
    const { words } = this;
    const count = (rows.length === 1 ? words.one : words.many).replace("{count}", rows.length);
    const why = outbox.mood === "signed-out" ? words.signedOut : isStuck ? words.offline : "";
    this.part("count").textContent = [count, why].filter(Boolean).join(" ");
    this.part("sign-in").hidden = outbox.mood !== "signed-out";
    this.part("sign-in").search = new URLSearchParams({ next: location.pathname + location.search });
    this.part("looks").replaceChildren(...looks.map((row) => this.look(row)));
    if (!this.part("text").hidden) this.part("text").value = this.text();
  }

  /** One that the server refused: what it is, what the server says, what can be done. */
  look(row) {
    const { words } = this;
    const line = document.createElement("li");
    const what = document.createElement("p");
    what.textContent = `${new Date(row.workout.started_at).toLocaleString()} · ${row.said} ${row.status === 409 ? words.conflict : words.refused}`;
    const actions = document.createElement("p");
    actions.className = "actions";
    const button = (name, label) => {
      const made = document.createElement("button");
      Object.assign(made, { type: "button", className: "button small", textContent: label });
      Object.assign(made.dataset, { act: name, row: row.id });
      return made;
    };
    const log = document.createElement("a");
    Object.assign(log, { className: "button small", href: this.dataset.log.replace(this.dataset.nobody, row.player), textContent: words.open });
    actions.append(row.status === 409 ? button("renew", words.renew) : log);
    const sure = document.createElement("confirm-button");
    for (const [name, said] of Object.entries({ question: words.sure, yes: words.drop, no: words.keep })) sure.setAttribute(name, said);
    sure.append(button("drop", words.drop));
    actions.append(sure);
    line.append(what, actions);
    return line;
  }

  text() {
    return asText(outbox.unsent, this.words);
  }

  async clicked(event) {
    const { act, row: id } = event.target.closest("[data-act]")?.dataset ?? {};
    if (act === "send") outbox.drain({ again: true });
    if (act === "copy") await this.copy();
    if (act === "renew") await renew(id);
    if (act === "drop") await outbox.drop(id);
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

async function renew(id) {
  const row = outbox.row(id);
  if (!row || !isUnsent(row)) return;
  const workout = structuredClone(row.workout);
  new Book(workout, {}).renew();
  await outbox.put(workout);
  await outbox.drop(id);
  outbox.drain();
}
