/**
 * <confirm-button question="Take it back?" yes="Take back" no="Keep it"><button type="submit">…</button></confirm-button>
 * The first press asks, the second does it. Without scripts the button simply works.
 */
customElements.define("confirm-button", class extends HTMLElement {
  connectedCallback() {
    this.button = this.querySelector("button");
    this.stop = new AbortController();
    this.button.addEventListener("click", (event) => this.first(event), { signal: this.stop.signal, capture: true });
  }

  disconnectedCallback() {
    this.stop.abort();
    this.close(false);
  }

  first(event) {
    if (this.agreed) {
      this.agreed = false;
      return;
    }
    event.preventDefault();
    event.stopImmediatePropagation();
    if (this.asked) return;
    this.open();
  }

  open() {
    const question = document.createElement("span");
    question.textContent = this.getAttribute("question");
    question.id = `ask-${crypto.getRandomValues(new Uint32Array(1))[0]}`;
    const yes = this.choice(this.getAttribute("yes"), "button primary", () => {
      this.close(true);
      this.agreed = true;
      this.button.click();
    });
    yes.setAttribute("aria-describedby", question.id);
    const no = this.choice(this.getAttribute("no"), "button", () => this.close(true));
    this.asked = document.createElement("span");
    this.asked.className = "actions";
    this.asked.setAttribute("role", "group");
    this.asked.setAttribute("aria-labelledby", question.id);
    this.asked.append(question, yes, no);
    this.asked.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close(true);
    });
    this.button.hidden = true;
    this.append(this.asked);
    no.focus();
  }

  choice(label, className, run) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = className;
    button.textContent = label;
    button.addEventListener("click", run);
    return button;
  }

  close(focus) {
    if (!this.asked) return;
    this.asked.remove();
    this.asked = null;
    this.button.hidden = false;
    if (focus) this.button.focus();
  }
});
