/** Where a suggestion is cut in two: arrow keys choose the word that begins the second one. */
/** As the server counts words. */
const WORD = /#?[\p{L}\p{N}]+(?:['’-][\p{L}\p{N}]+)*/gu;
let serial = 0;

export class Cut {
  /** done(at): before word number `at`, from 1; closed(): left whole, or done. */
  constructor(row, { words, say, done, closed }) {
    Object.assign(this, { row, words, done, closed });
    const said = row.dataset.said;
    const found = [...said.matchAll(WORD)];
    if (found.length < 2) {
      say(words.oneWord);
      closed();
      return;
    }
    this.box = Object.assign(document.createElement("div"), { className: "talk-cut" });
    this.list = Object.assign(document.createElement("p"), { tabIndex: 0 });
    this.list.setAttribute("role", "listbox");
    this.list.setAttribute("aria-label", words.cutList);
    this.parts = found.map((match, index) => {
      const part = Object.assign(document.createElement("span"), { id: `cut-${++serial}` });
      part.setAttribute("role", "option");
      part.dataset.at = String(index);
      part.textContent = said.slice(match.index, found[index + 1]?.index ?? said.length);
      return part;
    });
    this.sentences = this.parts.flatMap((part, index) => (index && /[.!?…]\s*$/.test(this.parts[index - 1].textContent) ? [index] : []));
    this.list.append(...this.parts);
    this.box.append(Object.assign(document.createElement("p"), { className: "small", textContent: words.cutHere }), this.list);
    row.lastElementChild.append(this.box);
    this.box.addEventListener("keydown", (event) => this.key(event));
    this.list.addEventListener("click", (event) => {
      const at = Number(event.target.closest("[data-at]")?.dataset.at ?? 0);
      if (at) this.choose(at);
    });
    const middle = this.parts.length / 2;
    const near = [...this.sentences].sort((one, other) => Math.abs(one - middle) - Math.abs(other - middle));
    this.move(near[0] ?? Math.max(1, Math.floor(middle)));
    this.list.focus();
    this.box.scrollIntoView({ block: "nearest" });
  }

  move(to) {
    this.at = Math.min(this.parts.length - 1, Math.max(1, to));
    this.parts.forEach((part, index) => {
      part.setAttribute("aria-selected", String(index === this.at));
      part.classList.toggle("second", index >= this.at);
    });
    this.list.setAttribute("aria-activedescendant", this.parts[this.at].id);
  }

  key(event) {
    // The film's arrows sleep while a word is chosen.
    event.stopPropagation();
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const acts = {
      ArrowRight: () => this.move(this.at + 1),
      ArrowLeft: () => this.move(this.at - 1),
      ArrowDown: () => this.move(this.sentences.find((one) => one > this.at) ?? this.parts.length - 1),
      ArrowUp: () => this.move([...this.sentences].reverse().find((one) => one < this.at) ?? 1),
      Enter: () => this.choose(this.at),
      Escape: () => this.close(),
    };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  }

  choose(at) {
    this.close();
    this.done(at);
  }

  close() {
    this.box?.remove();
    this.closed();
  }
}
