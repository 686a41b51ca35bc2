/**
 * <digest-letter>: a mail in a frame as high as its words, so that the page scrolls as a whole. The
 * frame runs no script; it is of this origin, and so its height can be read from outside. Without
 * this module the frame keeps the height of the style sheet and scrolls by itself.
 */
customElements.define("digest-letter", class extends HTMLElement {
  connectedCallback() {
    this.frame = this.querySelector("iframe");
    this.watch = new ResizeObserver(() => this.fit());
    this.stop = new AbortController();
    this.frame.addEventListener("load", () => this.follow(), { signal: this.stop.signal });
    this.follow();
  }

  disconnectedCallback() {
    this.stop.abort();
    this.watch.disconnect();
  }

  get body() {
    return this.frame.contentDocument?.body;
  }

  /** The height changes with the width of the page and when a picture has come. */
  follow() {
    this.watch.disconnect();
    if (this.body) this.watch.observe(this.body);
    this.fit();
  }

  fit() {
    const height = this.body?.offsetHeight;
    if (height) this.frame.style.height = `${height + 2}px`;
  }
});
