/**
 * <last-words src="…"><div data-said></div></last-words>: what was said last to the one player and
 * on the one skill that are picked in the form around it. Alt with the key copies the last
 * "next time" into the box; with [data-copy] each of them can be pressed.
 */
import { shortcuts } from "../film/shortcuts.js";

const AFTER_MS = 300;

class LastWords extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.form = this.closest("form");
    this.place = this.querySelector("[data-said]");
    this.asked = "";
    // Picks and chips are written by scripts, which fire one of these on the field.
    for (const name of ["input", "change", "click"]) this.form.addEventListener(name, () => this.later(), { signal });
    this.addEventListener("click", (event) => {
      const row = event.target.closest("[data-copy]");
      if (row) this.copy(row);
    }, { signal });
    shortcuts.add("last-words", "0", () => document.querySelector("last-words")?.copy(), { label: this.getAttribute("key-words") });
    this.later();
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.timer);
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.look(), AFTER_MS);
  }

  /** The one player and the skill that are picked; "" where there is none or more than one. */
  wish() {
    const players = this.form.querySelectorAll("input[name=players]");
    const skill = this.form.elements.skill.value.trim();
    return players.length === 1 && skill ? new URLSearchParams({ player: players[0].value, skill }).toString() : "";
  }

  async look() {
    const wish = this.wish();
    if (wish === this.asked) return;
    this.asked = wish;
    if (!wish) {
      this.place.replaceChildren();
      return;
    }
    await window.htmx?.ajax("GET", `${this.getAttribute("src")}?${wish}`, { source: this, target: this.place, swap: "innerHTML" });
  }

  copy(row = this.querySelector("[data-copy]")) {
    if (row) this.closest("comment-form")?.insert(row.dataset.copy);
  }
}

customElements.define("last-words", LastWords);
