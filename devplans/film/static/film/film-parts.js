/**
 * <film-parts [only-side="ours"] [only-periods="1,2"]>: narrows what <film-possessions> steps
 * through to the coach's own part, as long as the box in [data-narrow] is ticked.
 */
const NAMES = ["only-side", "only-periods"];

class FilmParts extends HTMLElement {
  connectedCallback() {
    const place = this.querySelector("[data-narrow]");
    if (place) {
      place.hidden = false;
      this.box = place.querySelector("input");
      this.box.addEventListener("change", () => this.narrow());
    }
    this.narrow();
  }

  disconnectedCallback() {
    if (!document.querySelector("film-parts")) this.set(() => null);
  }

  narrow() {
    this.set((name) => (this.box?.checked ? this.getAttribute(name) : null));
  }

  set(wish) {
    const possessions = document.querySelector("film-possessions");
    for (const name of possessions ? NAMES : []) {
      const value = wish(name);
      if (value) possessions.setAttribute(name, value);
      else possessions.removeAttribute(name);
    }
  }
}

customElements.define("film-parts", FilmParts);
