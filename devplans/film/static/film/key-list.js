const NAMES = { space: "Space", delete: "Del", enter: "Enter", arrowleft: "←", arrowright: "→", arrowup: "↑", arrowdown: "↓" };
const ALONE = new Set(["shift", "control", "alt", "meta", "tab", "capslock", "dead", "altgraph"]);

export function keyName(key) {
  return NAMES[key] ?? key.toUpperCase();
}

/** The dialog that lists every key of the page, and puts an action on another one. */
export class KeyList {
  constructor(dialog, { shortcuts, words, signal }) {
    Object.assign(this, { dialog, shortcuts, words });
    this.rows = dialog.querySelector("tbody");
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
    const actions = this.shortcuts.list();
    const groups = [...new Set(actions.map((action) => action.group))];
    this.rows.replaceChildren(...groups.flatMap((group) => {
      const rows = actions.filter((action) => action.group === group).map((action) => this.row(action));
      return group ? [this.heading(group), ...rows] : rows;
    }));
  }

  heading(group) {
    const row = document.createElement("tr");
    const cell = Object.assign(document.createElement("th"), { scope: "rowgroup", colSpan: 2, textContent: group, className: "film-keys-group" });
    row.append(cell);
    return row;
  }

  labelOf(name) {
    return this.shortcuts.list().find((action) => action.name === name).label;
  }

  row({ name, label, key, clash }) {
    const row = document.createElement("tr");
    const what = document.createElement("th");
    what.scope = "row";
    what.textContent = label;
    if (clash) {
      const words = Object.assign(document.createElement("span"), { className: "warn small", textContent: ` ${this.words.clash} ${this.labelOf(clash)}` });
      what.append(words);
    }
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
    if (!holder) return this.rows.querySelector(`[data-action="${name}"]`).focus();
    this.offerSwap(name, holder);
  }

  /** The key belongs to another action: the two may change keys. */
  offerSwap(name, holder) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "button small", textContent: this.words.swap });
    button.addEventListener("click", () => {
      this.shortcuts.swap(name, holder);
      this.fill();
      this.rows.querySelector(`[data-action="${name}"]`).focus();
    });
    const row = this.rows.querySelector(`[data-action="${name}"]`).closest("tr");
    const words = Object.assign(document.createElement("p"), { className: "small warn", textContent: `${this.words.taken} ${this.labelOf(holder)} ` });
    words.setAttribute("role", "alert");
    words.append(button);
    row.querySelector("th").append(words);
    button.focus({ preventScroll: true });
    row.scrollIntoView({ block: "nearest" });
  }
}
