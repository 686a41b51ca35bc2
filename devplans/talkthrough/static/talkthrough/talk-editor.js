/**
 * The form of one suggestion inside its row. What is typed is kept as one goes, as one step that can
 * be undone; Enter goes from field to field and closes it at the end, Escape closes it at once.
 * Where only the player is asked (`who`), it closes as soon as there is one; Escape leaves all as it was.
 * Each player stands there with a key then, beside the field for numbers and names.
 */
import "../feedback/pickers.js";
import { plain } from "../feedback/picker.js";
import { send } from "../portal/http.js";
import { newKey } from "../portal/ids.js";
import { keysFor } from "./who-keys.js";

const KEEP_AFTER_MS = 800;
const TYPES_ON_MS = 1500;

export class Editor {
  /** row: the suggestion's; kept(answer), closed(answer or null): what the page does then. */
  constructor(row, { words, kept, closed, who = false }) {
    Object.assign(this, { row, words, kept, closed, who });
    this.session = newKey();
    this.isDirty = false;
    this.last = null;
  }

  async open() {
    this.address = this.row.querySelector("[data-edit]").href;
    const answer = await fetch(`${this.address}?part=form`, { credentials: "same-origin" });
    this.box = Object.assign(document.createElement("div"), { className: "talk-editor" });
    this.row.classList.add("is-edited");
    this.row.append(this.box);
    this.fill(await answer.text());
    if (this.who) this.askWho();
    this.form.elements.who.focus({ preventScroll: true });
  }

  askWho() {
    this.box.classList.add("is-who");
    const picker = this.form.querySelector("player-picker");
    picker.picked = [];
    this.isDirty = false;
    clearTimeout(this.later);
    this.tell("");
    this.form.elements.skill.addEventListener("focus", () => { if (picker.querySelector(".chip")) this.close(); });
    this.showEverybody(picker);
  }

  showEverybody(picker) {
    const { choices } = picker.offer;
    const keys = keysFor(choices.map(({ dataset: { name } }) => [name, name.slice(name.lastIndexOf(" ") + 1)]));
    const list = Object.assign(document.createElement("p"), { className: "talk-offers talk-everybody" });
    list.append(...choices.map((choice, index) => {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "button small" });
      const key = Object.assign(document.createElement("span"), { className: "hint" });
      key.append(Object.assign(document.createElement("kbd"), { textContent: keys[index].toUpperCase() }));
      const number = Object.assign(document.createElement("span"), { className: "number", textContent: choice.dataset.number });
      button.append(...(keys[index] ? [key, " "] : []), number, ` ${choice.dataset.name}`);
      button.addEventListener("click", () => this.takes(picker, choice));
      return button;
    }));
    picker.after(list);
    picker.input.addEventListener("keydown", (event) => {
      const at = keys.indexOf(event.key.toLowerCase());
      if (at < 0 || picker.input.value || event.altKey || event.ctrlKey || event.metaKey || event.isComposing) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      this.skipRest(choices[at].dataset.name, event.key);
      this.takes(picker, choices[at]);
    }, { capture: true });
  }

  takes(picker, choice) {
    picker.pick(choice);
    picker.leave();
  }

  /** Who types the name on does not mean the page's keys. */
  skipRest(name, key) {
    const rest = [...plain(name)];
    if (rest.shift() !== key.toLowerCase()) return;
    const stop = new AbortController();
    setTimeout(() => stop.abort(), TYPES_ON_MS);
    document.addEventListener("keydown", (event) => {
      if (event.key.toLowerCase() !== rest.shift()) return stop.abort();
      event.preventDefault();
      event.stopPropagation();
    }, { capture: true, signal: stop.signal });
  }

  /** A digit that was typed before the field was there. */
  type(digit) {
    const field = this.form.elements.who;
    field.value += digit;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  fill(html) {
    this.box.innerHTML = html;
    this.form = this.box.querySelector("form");
    this.form.addEventListener("input", () => this.changed());
    this.form.addEventListener("change", () => this.changed());
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.close(); });
    this.form.addEventListener("settled", () => this.onward());
    this.form.addEventListener("keydown", (event) => this.key(event));
  }

  tell(text) {
    this.form.querySelector("[data-state]").textContent = text;
  }

  changed() {
    this.isDirty = true;
    this.tell(this.words.unsaved);
    clearTimeout(this.later);
    if (this.who) return;
    this.later = setTimeout(() => this.keep().catch(() => this.tell(this.words.lost)), KEEP_AFTER_MS);
  }

  judge(value) {
    this.form.querySelector(`[name=verdict][value=${value}]`).checked = true;
    this.changed();
  }

  onward() {
    this.form.elements.happened.focus();
  }

  key(event) {
    if (event.defaultPrevented || event.isComposing) return;
    if (event.key === "Escape") {
      event.preventDefault();
      event.stopPropagation();
      this.close();
      return;
    }
    if (event.key !== "Enter" || event.shiftKey || event.altKey || event.ctrlKey || event.metaKey) return;
    const { happened, do_instead: answer } = this.form.elements;
    if (event.target === happened || event.target.name === "verdict") {
      event.preventDefault();
      (event.target === happened ? answer : happened).focus();
    } else if (event.target === answer) {
      event.preventDefault();
      this.close();
    }
  }

  /** What is typed goes to the server; true where it is kept, false where the form says why not. */
  async keep() {
    clearTimeout(this.later);
    if (this.who && !this.form.querySelector(".chip")) this.isDirty = false;
    if (!this.isDirty) return true;
    const body = new FormData(this.form);
    body.set("session", this.session);
    this.isDirty = false;
    try {
      this.last = await send("POST", this.address, body);
    } catch (error) {
      this.isDirty = true;
      const html = error.fields?.form?.[0];
      if (!html) throw error;
      this.refuse(html);
      return false;
    }
    this.tell(this.last.said);
    this.kept(this.last);
    return true;
  }

  /** The form once more, with what is wrong; the field that was written in keeps the focus. */
  refuse(html) {
    const name = this.form.contains(document.activeElement) ? document.activeElement.name : "";
    this.fill(html);
    const wrong = this.form.querySelector("[aria-invalid=true]");
    const field = (name && this.form.elements[name]) || wrong;
    (field?.focus ? field : wrong)?.focus();
  }

  /** Keeps it and closes; false where it cannot be kept. */
  async close() {
    if (this.closing) return this.closing;
    this.closing = this.end();
    const done = await this.closing;
    this.closing = null;
    return done;
  }

  async end() {
    try {
      if (!(await this.keep())) return false;
    } catch (error) {
      this.tell(error.status ? error.message : this.words.lost);
      return false;
    }
    this.box.remove();
    this.row.classList.remove("is-edited");
    this.closed(this.last);
    return true;
  }
}
