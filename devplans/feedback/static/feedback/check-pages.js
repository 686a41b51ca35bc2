/**
 * <check-pages>: one player's page at a time beside the list of players. Down and up step through
 * them, Enter edits the first comment, H holds a player's comments back, S goes to the button that
 * sends. Without scripts all pages stand below each other.
 */
import { Keys } from "../portal/keys.js";

customElements.define("check-pages", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.pages = [...this.querySelectorAll(".check-player")];
    this.links = [...this.querySelectorAll('aside a[href^="#player-"]')];
    if (!this.pages.length) return;
    this.left = new Set(this.read());
    window.addEventListener("hashchange", () => this.show(location.hash.slice(1)), { signal });
    this.addEventListener("change", () => this.count(), { signal });
    this.addEventListener("click", (event) => this.click(event), { signal });
    this.keys = new Keys("check")
      .add("next", "arrowdown", () => this.step(1))
      .add("previous", "arrowup", () => this.step(-1))
      .add("edit", "enter", () => this.page().querySelector("[data-edit]")?.click())
      .add("hold", "h", () => this.hold())
      .add("send", "s", () => this.querySelector("#send button[data-one]").focus())
      .listen({ signal });
    for (const link of this.links) link.addEventListener("keydown", (event) => this.enter(event), { signal });
    for (const button of this.querySelectorAll("[data-leave]")) button.hidden = false;
    this.leave();
    this.show(location.hash.slice(1));
    this.count();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  page() {
    return this.pages[this.at];
  }

  show(id) {
    this.at = Math.max(0, this.pages.findIndex((page) => page.id === id));
    this.pages.forEach((page, index) => { page.hidden = index !== this.at; });
    this.links.forEach((link, index) => {
      if (index === this.at) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    });
  }

  step(by) {
    const to = Math.min(this.pages.length - 1, Math.max(0, this.at + by));
    history.replaceState(null, "", `#${this.pages[to].id}`);
    this.show(this.pages[to].id);
    this.links[to].focus();
  }

  /** Enter on the player who is shown already goes on to his first comment. */
  enter(event) {
    if (event.key !== "Enter" || this.links.indexOf(event.currentTarget) !== this.at) return;
    event.preventDefault();
    this.page().querySelector("[data-edit]")?.click();
  }

  hold() {
    const box = this.page().querySelector("[name=players]");
    if (!box) return;
    box.checked = !box.checked;
    this.count();
  }

  count() {
    const button = this.querySelector("#send button[data-one]");
    let sending = 0;
    this.pages.forEach((page, index) => {
      const box = page.querySelector("[name=players]");
      if (box?.checked) sending += 1;
      this.links[index].querySelector("[data-held]").hidden = !box || box.checked;
    });
    button.disabled = sending === 0;
    button.textContent = sending === 1 ? button.dataset.one : button.dataset.many.replace("%s", String(sending));
  }

  click(event) {
    const button = event.target.closest("[data-leave]");
    if (!button) return;
    this.left.add(button.closest("[data-suggestion]").dataset.suggestion);
    this.leave();
    try {
      sessionStorage.setItem(this.place(), JSON.stringify([...this.left]));
    } catch {
      // storage may be closed to us; the remark then comes back with the page
    }
  }

  leave() {
    for (const remark of this.querySelectorAll("[data-suggestion]")) {
      if (this.left.has(remark.dataset.suggestion)) remark.hidden = true;
    }
  }

  place() {
    return `check:${this.getAttribute("film")}`;
  }

  read() {
    try {
      return JSON.parse(sessionStorage.getItem(this.place()) ?? "[]");
    } catch {
      return [];
    }
  }
});
