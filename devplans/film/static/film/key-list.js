const NAMES = { space: "Space", arrowleft: "←", arrowright: "→", arrowup: "↑", arrowdown: "↓" };
const ALONE = new Set(["shift", "control", "alt", "meta", "tab", "capslock", "dead", "altgraph"]);

export function keyName(key) {
  return NAMES[key] ?? key.toUpperCase();
}

/** The dialog that lists every key of the page, and puts an action on another one. */
export class KeyList {
  constructor(dialog, { shortcuts, words, signal }) {
    Object.assign(this, { dialog, shortcuts, words });
    this.rows = dialog.querySelector("tbody");
    this.said = dialog.querySelector("[role=status]");
    this.off = dialog.querySelector(".film-keys-off");
    // The keys of the page sleep while this is open.
    dialog.addEventListener("keydown", (event) => this.press(event), { signal });
    dialog.addEventListener("close", () => this.closed(), { signal });
    this.off.addEventListener("change", () => { shortcuts.off = this.off.checked; }, { signal });
  }

  open() {
    this.off.checked = this.shortcuts.off;
    this.fill();
    if (!this.dialog.open) this.dialog.showModal();
  }

  reset() {
    this.shortcuts.reset();
    this.open();
  }

  fill() {
    this.said.textContent = "";
    this.rows.replaceChildren(...this.shortcuts.list().map((action) => this.row(action)));
  }

  row({ name, label, key }) {
    const row = document.createElement("tr");
    const what = document.createElement("th");
    what.scope = "row";
    what.textContent = label;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button small";
    button.dataset.action = name;
    button.textContent = keyName(key);
    button.setAttribute("aria-label", `${label}: ${keyName(key)}`);
    button.addEventListener("click", () => this.wait(button));
    const cell = document.createElement("td");
    cell.className = "num";
    cell.append(button);
    row.append(what, cell);
    return row;
  }

  closed() {
    this.wait(null);
    // Where nothing had the focus before, the hidden button would keep it, and the space bar with it.
    if (this.dialog.contains(document.activeElement)) document.activeElement.blur();
  }

  wait(button) {
    if (this.waiting) this.fill();
    this.waiting = button?.dataset.action ?? null;
    if (button) {
      const now = this.rows.querySelector(`[data-action="${this.waiting}"]`);
      now.textContent = this.words.press;
      now.focus();
    }
  }

  press(event) {
    if (!this.dialog.open) return;
    event.stopPropagation();
    if (!this.waiting || ALONE.has(event.key.toLowerCase())) return;
    event.preventDefault();
    const name = this.waiting;
    if (event.key === "Escape") return this.wait(null);
    const holder = this.shortcuts.change(name, event.key);
    this.waiting = null;
    this.fill();
    if (holder) {
      const { label } = this.shortcuts.list().find((action) => action.name === holder);
      this.said.textContent = `${this.words.taken} ${label}`;
    }
    this.rows.querySelector(`[data-action="${name}"]`).focus();
  }
}
