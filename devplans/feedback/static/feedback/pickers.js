import { Offer, plain, wholeFirst } from "./picker.js";

const MOST_LATELY = 20;
const TAB_TOO_LATE_MS = 1500;

function begins(text, typed) {
  const words = plain(text);
  return words.startsWith(typed) || words.split(/[\s-]+/).some((word) => word.startsWith(typed));
}

/**
 * <player-picker>: several players in one box, by number or name. What is picked stands above the
 * box with a hidden field each; what is still typed goes along in the box.
 */
class PlayerPicker extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.input = this.querySelector("input[type=text]");
    this.chips = this.querySelector(".chips");
    this.words = this.querySelector("template").dataset;
    const choices = [...this.querySelectorAll("datalist option")];
    this.offer = new Offer(this.input, {
      choices,
      matches: (choice, typed) => this.fits(choice, plain(typed).replace(/^#/, "")),
      pick: (choice) => this.pick(choice),
      label: this.words.found,
      signal,
    });
    this.input.addEventListener("input", () => this.typed(), { signal });
    this.input.addEventListener("keydown", (event) => this.key(event), { signal });
    this.tellEmpty();
    this.chips.addEventListener("click", (event) => {
      if (event.target.closest(".chip-off")) this.remove(event.target.closest(".chip"));
    }, { signal });
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  fits(choice, typed) {
    if (this.has(choice)) return false;
    if (/^\d+$/.test(typed)) return choice.dataset.number.startsWith(typed);
    return begins(choice.dataset.name, typed);
  }

  has(choice) {
    return Boolean(this.chips.querySelector(`input[value="${choice.dataset.id}"]`));
  }

  /** The words before a space or comma are picked where they mean one player. */
  typed() {
    const parts = this.input.value.split(/([\s,;]+)/);
    const last = parts.pop();
    let rest = "";
    for (let index = 0; index < parts.length; index += 2) {
      const one = this.only(parts[index]);
      if (one) this.add(one);
      else rest += parts[index] + (parts[index + 1] ?? "");
    }
    if (rest + last !== this.input.value) this.input.value = rest + last;
    const one = this.complete(this.input.value.trim());
    if (!one) return void this.offer.show(this.input.value.trim());
    this.pick(one);
    this.leave();
  }

  /** The player of a number that no other one begins with: nothing more needs to be typed. */
  complete(typed) {
    if (!/^\d+$/.test(typed)) return null;
    const fitting = this.offer.choices.filter((choice) => choice.dataset.number.startsWith(typed));
    return fitting.length === 1 && fitting[0].dataset.number === typed ? fitting[0] : null;
  }

  /** On to the skill. A digit typed there comes back here, so that "12 7" still means two. */
  leave() {
    this.left = performance.now();
    this.closest("form").elements.skill.focus();
  }

  /** True once, for the Tab that was meant to leave this field and found it left already. */
  swallowsTab() {
    const late = performance.now() - (this.left ?? -Infinity) > TAB_TOO_LATE_MS;
    this.left = undefined;
    return !late;
  }

  /** Takes a digit that was typed in the empty field of the skill; false where nobody has such a
   *  number. */
  takeDigit(digit) {
    if (!this.offer.choices.some((choice) => !this.has(choice) && choice.dataset.number.startsWith(digit))) return false;
    this.input.focus();
    this.input.value = digit;
    this.typed();
    return true;
  }

  only(word) {
    const typed = plain(word).replace(/^#/, "");
    const open = this.offer.choices;
    const exact = open.filter((choice) => choice.dataset.number === typed);
    if (exact.length === 1) return exact[0];
    const named = /^\d*$/.test(typed) ? [] : open.filter((choice) => begins(choice.dataset.name, typed));
    return named.length === 1 ? named[0] : null;
  }

  pick(choice) {
    this.add(choice);
    this.input.value = "";
    this.input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  add(choice) {
    if (this.has(choice)) return;
    const chip = document.createElement("li");
    chip.className = "chip";
    const key = Object.assign(document.createElement("input"), { type: "hidden", name: "players", value: choice.dataset.id });
    const number = Object.assign(document.createElement("span"), { className: "number", textContent: choice.dataset.number });
    const off = Object.assign(document.createElement("button"), { type: "button", className: "chip-off", textContent: "×" });
    off.setAttribute("aria-label", `${this.words.off} ${choice.dataset.name}`);
    chip.append(key, number, ` ${choice.dataset.name} `, off);
    this.chips.append(chip);
    this.tellEmpty();
    this.dispatchEvent(new Event("change", { bubbles: true }));
  }

  /** An example of numbers beside a picked player would look like more players. */
  tellEmpty() {
    this.example ??= this.input.placeholder;
    this.input.placeholder = this.chips.children.length ? "" : this.example;
  }

  remove(chip) {
    chip.remove();
    this.tellEmpty();
    this.input.focus();
    this.dispatchEvent(new Event("change", { bubbles: true }));
  }

  /** The players whose keys these are, in place of those picked now. */
  set picked(keys) {
    this.chips.replaceChildren();
    for (const choice of this.offer.choices) if (keys.includes(choice.dataset.id)) this.add(choice);
  }

  key(event) {
    if (event.key === "Enter" && !event.altKey) {
      const typed = this.input.value.trim();
      const one = typed && this.only(typed);
      if (one) {
        event.preventDefault();
        this.offer.take(one);
        this.leave();
        return;
      }
    }
    if (this.offer.key(event)) {
      if (event.key === "Enter") this.leave();
      return;
    }
    if (event.key === "Backspace" && !this.input.value) {
      const last = this.chips.lastElementChild;
      if (last) this.remove(last);
    } else if (event.key === "Enter" && !event.altKey && !this.input.value.trim()) {
      event.preventDefault();
      this.leave();
    }
  }
}

/** The skills that this person picked last, the newest first, on this device. */
const lately = {
  place: `skills:${document.body.dataset.person ?? ""}`,
  read() {
    try {
      return JSON.parse(localStorage.getItem(this.place) ?? "[]");
    } catch {
      return [];
    }
  },
  add(name) {
    const names = [name, ...this.read().filter((other) => other !== name)].slice(0, MOST_LATELY);
    try {
      localStorage.setItem(this.place, JSON.stringify(names));
    } catch {
      // storage may be closed to us; the skills then keep the order of the catalogue
    }
  },
};

/** The first letters of the words: "ct" for "Closeout technique". */
function initials(name) {
  return plain(name).split(/[\s-]+/).map((word) => word[0] ?? "").join("");
}

/**
 * <skill-picker>: a few letters find the skill, or the first letters of its words; those picked
 * lately come first. `cues` are those of the skill that is named.
 */
class SkillPicker extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.input = this.querySelector("input");
    const choices = [...this.querySelectorAll("datalist option")];
    this.offer = new Offer(this.input, {
      choices,
      matches: (choice, typed) => begins(choice.value, plain(typed)) || (typed.length > 1 && initials(choice.value).startsWith(plain(typed))),
      rank: (choice, typed) => this.rank(choice, typed),
      pick: (choice) => this.pick(choice),
      label: this.querySelector("label").firstChild.textContent.trim(),
      signal,
    });
    this.input.addEventListener("input", () => {
      this.offer.show(this.named() ? "" : this.input.value.trim());
    }, { signal });
    this.input.addEventListener("keydown", (event) => this.key(event), { signal });
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  named() {
    const typed = plain(this.input.value);
    return this.offer.choices.find((choice) => plain(choice.value) === typed);
  }

  get cues() {
    return JSON.parse(this.named()?.dataset.cues ?? "[]");
  }

  rank(choice, typed) {
    const place = lately.read().indexOf(choice.value);
    const group = wholeFirst(choice, typed) + Number(wholeFirst(choice, typed) && !initials(choice.value).startsWith(typed));
    return group * 2 * MOST_LATELY + (place < 0 ? MOST_LATELY : place);
  }

  pick(choice) {
    this.input.value = choice.value;
    lately.add(choice.value);
    this.input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** Takes what is offered first, where nothing is named yet. */
  settle() {
    if (!this.named() && this.offer.found.length) this.offer.take(this.offer.found[Math.max(0, this.offer.at)]);
  }

  key(event) {
    const isPlain = !event.altKey && !event.ctrlKey && !event.metaKey;
    const players = this.closest("form").querySelector("player-picker");
    if (isPlain && !this.input.value && players && /^[\d\s,]$/.test(event.key) && (/\D/.test(event.key) || players.takeDigit(event.key))) {
      event.preventDefault();
    } else if (isPlain && event.key === "Tab" && !event.shiftKey && !this.input.value && players?.swallowsTab()) {
      event.preventDefault();
    } else if (isPlain && event.key === "Backspace" && !this.input.value && players) {
      event.preventDefault();
      players.input.focus();
    } else if (isPlain && event.key === "Enter" && !event.isComposing) {
      event.preventDefault();
      this.settle();
      if (this.input.value.trim()) this.dispatchEvent(new CustomEvent("settled", { bubbles: true }));
    } else this.offer.key(event);
  }
}

customElements.define("player-picker", PlayerPicker);
customElements.define("skill-picker", SkillPicker);
