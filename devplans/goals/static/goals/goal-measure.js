/**
 * <goal-measure>…</goal-measure> around the choice of a measure and its figures.
 * Shows only those figures (data-measures="film_rate drill_share") that the chosen measure needs.
 * Without scripts all of them are there, and the server takes the ones it needs.
 */
customElements.define("goal-measure", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    this.addEventListener("change", () => this.show(), { signal: this.stop.signal });
    this.show();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  show() {
    const chosen = this.querySelector("input[name=measure]:checked")?.value;
    for (const group of this.querySelectorAll("[data-measures]")) {
      group.hidden = Boolean(chosen) && !group.dataset.measures.split(" ").includes(chosen);
    }
  }
});
