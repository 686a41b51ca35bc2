/**
 * <copy-text done="Copied"><code>…</code><button type="button" hidden>Copy</button></copy-text>
 * The button shows only where the clipboard can be written; the text is there to select in any case.
 */
customElements.define("copy-text", class extends HTMLElement {
  connectedCallback() {
    const [text, button] = [this.querySelector("code"), this.querySelector("button")];
    if (!navigator.clipboard) return;
    this.stop = new AbortController();
    button.hidden = false;
    const usual = button.textContent;
    button.addEventListener("click", async () => {
      await navigator.clipboard.writeText(text.textContent.trim());
      button.textContent = this.getAttribute("done");
      this.timer = setTimeout(() => { button.textContent = usual; }, 2500);
    }, { signal: this.stop.signal });
  }

  disconnectedCallback() {
    this.stop?.abort();
    clearTimeout(this.timer);
  }
});
