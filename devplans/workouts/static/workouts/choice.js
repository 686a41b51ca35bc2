import { outbox } from "./outbox.js";
import { sumAsText } from "./text.js";

/** What the line about unsent workouts says, on every page. */
export function unsentWords() {
  return JSON.parse(document.querySelector("unsent-line script").textContent);
}

/** Two phones changed one workout: what both hold, and what can be done. The same on every page. */
export class Choice {
  /** What the server holds in the place of each: id -> {body}, once it is known. */
  there = new Map();
  asked = new Set();

  /** news() when there is more to say than before. */
  constructor(news, words = unsentWords(), box = outbox) {
    Object.assign(this, { news, words, box });
  }

  /** Of a row that the server refused with 409: {both, acts}. Without the other one, both can still be kept. */
  of(row) {
    const { words } = this;
    const there = this.there.get(row.id)?.body;
    if (!this.there.has(row.id)) this.#ask(row.id);
    if (!there) return { both: "", acts: ["renew", "drop"] };
    const both = words.both.replace("{here}", sumAsText(row.workout, words)).replace("{there}", sumAsText(there, words));
    return { both, acts: ["mine", "theirs", "renew"] };
  }

  /** In the place of what the server had when the choice was shown; something newer is shown first. */
  async insist(id) {
    const { revision } = this.there.get(id).body;
    this.there.delete(id);
    await this.box.insist(id, revision);
    this.news();
  }

  async #ask(id) {
    if (this.asked.has(id)) return;
    this.asked.add(id);
    try {
      this.there.set(id, { body: await this.box.theirs(id) });
      this.news();
    } catch {
      // no answer: asked again when something changes
    } finally {
      this.asked.delete(id);
    }
  }
}

export function actButton(act, words, id) {
  const made = document.createElement("button");
  Object.assign(made, { type: "button", className: "button small", textContent: words[act] });
  Object.assign(made.dataset, { act, row: id });
  return made;
}
