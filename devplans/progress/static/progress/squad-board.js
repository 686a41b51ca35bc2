/**
 * <squad-board>: on a narrow screen one player at a time, chosen above the table; on a wide one, on
 * paper and without this script everybody. The choice is kept while the page is open.
 */
const NARROW = matchMedia("(max-width: 47.99em)");

customElements.define("squad-board", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.picker = this.querySelector("select");
    this.picker.addEventListener("change", () => this.show(), { signal });
    NARROW.addEventListener("change", () => this.show(), { signal });
    // Paper has room for all of them, whatever the screen shows.
    addEventListener("beforeprint", () => this.show(true), { signal });
    addEventListener("afterprint", () => this.show(), { signal });
    this.show();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  show(everybody = !NARROW.matches) {
    this.picker.closest(".board-pick").hidden = everybody;
    const chosen = this.picker.value;
    for (const cell of this.querySelectorAll("[data-place]")) {
      cell.hidden = !everybody && cell.dataset.place !== chosen;
    }
    for (const block of this.querySelectorAll(".board-block")) {
      const columns = [...block.querySelectorAll("thead [data-place]")];
      const seen = columns.filter((one) => !one.hidden).length;
      block.hidden = !seen;
      for (const head of block.querySelectorAll(".family > th")) head.colSpan = seen + 1;
    }
  }
});
