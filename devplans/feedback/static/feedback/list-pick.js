/**
 * <list-pick [span]>: puts a comment's clip or a span on a clip list. The title of a new list is
 * asked for only where a new one is chosen. With `span` it follows the span that is marked in the
 * film's player.
 */
import { writeTime } from "./comment-form.js";

customElements.define("list-pick", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.fields = this.querySelector("form").elements;
    this.addEventListener("change", () => this.show(), { signal });
    if (this.hasAttribute("span")) {
      document.addEventListener("film:moment", ({ detail }) => this.moment(detail), { signal });
      const { startMs, endMs } = document.querySelector("film-player")?.span ?? {};
      if (startMs !== undefined) this.moment({ startMs, endMs });
    }
    this.show();
    if (!this.hasAttribute("span")) this.fields.clip_list.focus();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  show() {
    this.querySelector("[data-new]").hidden = Boolean(this.fields.clip_list.value);
  }

  moment({ startMs, endMs }) {
    if (startMs === null || endMs === null) return;
    this.fields.start_ms.value = writeTime(startMs);
    this.fields.end_ms.value = writeTime(endMs);
  }
});
