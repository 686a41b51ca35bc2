import "./drawing-view.js";

/**
 * <comment-list marks='[{"ms", "verdict", "id"}]'>: draws its comments on the film's line, and takes
 * the film to a comment when its time is pressed; a span is played over and over.
 */
customElements.define("comment-list", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    this.addEventListener("click", (event) => {
      const time = event.target.closest("[data-ms]");
      if (time) this.go(Number(time.dataset.ms), time.dataset.endMs);
    }, { signal: this.stop.signal });
    const marks = JSON.parse(this.getAttribute("marks") || "[]");
    customElements.whenDefined("film-player").then(() => this.send("film:marks", marks));
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  go(startMs, endMs) {
    if (endMs) this.send("film:loop", { startMs, endMs: Number(endMs) });
    else this.send("film:seek", { ms: startMs });
  }

  send(name, detail) {
    document.dispatchEvent(new CustomEvent(name, { detail }));
  }
});
