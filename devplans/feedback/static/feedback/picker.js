/**
 * A text field that offers what begins with the letters typed, worked by arrow keys, Enter and Tab.
 * The choices are the <option>s of the field's <datalist>, which serves alone where scripts do not run.
 */
let serial = 0;

/** Letters without case and accents. */
export function plain(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().trim();
}

/** What begins so as a whole comes before what only holds a word that does. */
export function wholeFirst(choice, typed) {
  return Number(!plain(choice.value).startsWith(typed));
}

export class Offer {
  /** input: the field; choices: elements; matches(choice, typed) → boolean; pick(choice);
   *  rank(choice, typed) → number: the lowest is offered first. */
  constructor(input, { choices, matches, pick, label, signal, rank = wholeFirst, most = 8 }) {
    Object.assign(this, { input, choices, matches, pick, rank, most });
    this.found = [];
    this.at = -1;
    this.list = document.createElement("ul");
    this.list.id = `offer-${++serial}`;
    this.list.className = "offer";
    this.list.hidden = true;
    this.list.setAttribute("role", "listbox");
    this.list.setAttribute("aria-label", label);
    input.after(this.list);
    input.removeAttribute("list");
    for (const [name, value] of [["role", "combobox"], ["aria-autocomplete", "list"], ["aria-expanded", "false"], ["aria-controls", this.list.id]]) {
      input.setAttribute(name, value);
    }
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this.list, "pointerdown", (event) => event.preventDefault());
    on(this.list, "click", (event) => {
      const row = event.target.closest("[role=option]");
      if (row) this.take(this.found[Number(row.dataset.at)]);
    });
    on(input, "blur", () => this.close());
  }

  /** Shows what fits `typed`; returns it. */
  show(typed) {
    const rank = (choice) => this.rank(choice, plain(typed));
    const fitting = typed ? this.choices.filter((choice) => this.matches(choice, typed)) : [];
    this.found = fitting.sort((one, other) => rank(one) - rank(other)).slice(0, this.most);
    this.list.replaceChildren(...this.found.map((choice, index) => {
      const row = document.createElement("li");
      row.id = `${this.list.id}-${index}`;
      row.dataset.at = String(index);
      row.setAttribute("role", "option");
      row.textContent = choice.value;
      if (choice.dataset.family) {
        const family = document.createElement("span");
        family.className = "faded small";
        family.textContent = ` ${choice.dataset.family}`;
        row.append(family);
      }
      return row;
    }));
    this.move(this.found.length ? 0 : -1);
    this.list.hidden = !this.found.length;
    this.input.setAttribute("aria-expanded", String(Boolean(this.found.length)));
    return this.found;
  }

  move(to) {
    this.at = to;
    [...this.list.children].forEach((row, index) => row.setAttribute("aria-selected", String(index === to)));
    if (to < 0) this.input.removeAttribute("aria-activedescendant");
    else this.input.setAttribute("aria-activedescendant", this.list.children[to].id);
  }

  take(choice) {
    this.close();
    if (choice) this.pick(choice);
  }

  close() {
    this.show("");
  }

  /** Arrow keys, Enter, Tab and Escape; true where the key was for the list. */
  key(event) {
    if (!this.found.length || event.altKey || event.ctrlKey || event.metaKey) return false;
    const count = this.found.length;
    if (event.key === "ArrowDown") this.move((this.at + 1) % count);
    else if (event.key === "ArrowUp") this.move((this.at + count - 1) % count);
    else if (event.key === "Enter") this.take(this.found[this.at]);
    else if (event.key === "Escape") this.close();
    else if (event.key === "Tab" && !event.shiftKey) {
      this.take(this.found[this.at]);
      return false;
    } else return false;
    event.preventDefault();
    return true;
  }
}
