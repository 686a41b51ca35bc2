/**
 * <comment-form film="…" comment="new or key" still="…" [check="…"] [saved] [refused]>: writes one
 * comment. Enter goes from field to field and keeps a draft at the end; a verdict's key on the film
 * begins a comment there; a film that was playing plays on once the comment is kept.
 * Takes the moment from the player's film:moment, shows that very frame, puts cues and phrases on
 * keys, and keeps what is typed in this tab until it is kept on the server.
 */
import "./drawing-board.js";
import "./last-words.js";
import "./pickers.js";
import { shortcuts } from "../film/shortcuts.js";

const STILL_AFTER_MS = 250;
const VERDICTS = [["did-it", "d", "did_it"], ["not-yet", "n", "not_yet"], ["note", "t", "note"]];
const MOST_KEYS = 9;
/** As in film.css: from here on the picture makes room for the box. */
const PICTURE_BESIDE = "(min-width: 48em) and (min-height: 40em)";
let listening = false;
let submitted = null;
let goesOn = false;

/** "12:04.300" or "3.5" as milliseconds; null where it is no time. */
export function readTime(text) {
  const match = /^(?:(?:(\d{1,2}):)?(\d{1,3}):)?(\d{1,5})(?:[.,](\d{1,3}))?$/.exec(text.trim());
  if (!match) return null;
  const [, hours = "0", minutes = "0", seconds, rest = "0"] = match;
  return ((Number(hours) * 60 + Number(minutes)) * 60 + Number(seconds)) * 1000 + Number(rest.padEnd(3, "0"));
}

export function writeTime(ms) {
  const pad = (number, length) => String(number).padStart(length, "0");
  const [hours, minutes, seconds] = [Math.floor(ms / 3_600_000), Math.floor(ms / 60_000) % 60, Math.floor(ms / 1000) % 60];
  const front = hours ? `${hours}:${pad(minutes, 2)}` : String(minutes);
  return `${front}:${pad(seconds, 2)}.${pad(ms % 1000, 3)}`;
}

class CommentForm extends HTMLElement {
  connectedCallback() {
    // A fragment's elements wake from the outside in; the pickers are asked for their cues at once.
    customElements.upgrade(this);
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.form = this.querySelector("form");
    this.fields = this.form.elements;
    this.image = this.querySelector("[data-still]");
    this.place = `comment:${document.body.dataset.person ?? ""}:${this.getAttribute("film")}:${this.getAttribute("comment")}`;
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(document, "film:moment", ({ detail }) => this.moment(detail));
    on(document, "film:copy", () => this.showStill());
    on(document, "comment:words", ({ detail }) => this.take(detail));
    on(this, "input", () => this.changed());
    on(this, "change", () => this.changed());
    on(this, "click", (event) => this.click(event));
    on(this, "settled", () => this.onward());
    on(this, "focusin", ({ target }) => { if (target.matches("input, textarea")) this.toggleAttribute("writing", true); });
    on(document.querySelector("film-player video") ?? this, "play", () => { if (this.isBlank) this.removeAttribute("writing"); });
    // Else the new form's field of the same name would get the focus, and the film's keys be typed.
    on(document, "htmx:beforeSwap", (event) => event.target.id === "comment-form" && document.activeElement?.blur());
    on(this, "keydown", (event) => this.enter(event));
    on(this.image, "error", () => { this.image.hidden = true; });
    on(this.image, "load", () => { this.image.hidden = false; });
    on(this.form, "submit", () => { submitted = this.place; if (!this.form.hasAttribute("hx-post")) this.forget(this.place); });
    this.addKeys();
    if (this.hasAttribute("saved")) this.afterSaving();
    else if (!this.hasAttribute("refused")) this.restore();
    this.begin();
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.later);
  }

  /** The moment it is about; null while none is written. */
  get startMs() {
    return readTime(this.fields.start_ms.value);
  }

  begin() {
    this.show();
    this.showStill();
    const start = readTime(this.fields.start_ms.value);
    if (this.getAttribute("comment") !== "new" && start !== null) {
      document.dispatchEvent(new CustomEvent("film:seek", { detail: { ms: start } }));
      this.form.scrollIntoView({ block: "nearest" });
    }
    const wrong = this.querySelector("[aria-invalid=true]");
    if (wrong) (wrong.matches("fieldset") ? wrong.querySelector("input") : wrong).focus();
  }

  afterSaving() {
    if (submitted) this.forget(submitted);
    submitted = null;
    const player = document.querySelector("film-player");
    player?.clearSpan?.();
    player?.focus?.();
    if (goesOn) player?.play?.();
    goesOn = false;
  }

  addKeys() {
    const here = () => document.querySelector("comment-form");
    for (const [name, key, value] of VERDICTS) {
      shortcuts.add(name, key, (event) => here()?.verdict(value, event), { label: this.form.querySelector(`[value=${value}]`).closest("label").innerText.trim().split("\n")[0] });
    }
    for (let number = 1; number <= MOST_KEYS; number += 1) {
      shortcuts.add(`words-${number}`, String(number), () => here()?.say(number), { label: `${this.querySelector("ol[data-cues]").getAttribute("aria-label")} ${number}` });
    }
    shortcuts.add("keep-comment", "enter", () => here()?.form.requestSubmit(), { label: this.form.querySelector("[type=submit].primary").firstChild.textContent.trim(), alone: false });
    const check = this.getAttribute("check");
    if (check) shortcuts.add("check", "v", () => location.assign(check), { label: this.getAttribute("check-words") });
    // The film's player listens to the same table; beside no player this form does.
    if (!listening && !document.querySelector("film-player")) {
      listening = true;
      shortcuts.listen();
    }
  }

  /** {why, ms, startMs, endMs, wasPlaying} of the player. */
  moment({ why, startMs, endMs, wasPlaying }) {
    if (startMs === null) return;
    if (why === "comment") goesOn ||= Boolean(wasPlaying);
    this.fields.start_ms.value = writeTime(startMs);
    this.fields.end_ms.value = endMs === null ? "" : writeTime(endMs);
    this.changed();
    if (why !== "comment") return;
    this.toggleAttribute("writing", true);
    const beside = matchMedia(PICTURE_BESIDE).matches;
    if (beside) document.querySelector("film-player")?.scrollIntoView({ block: "nearest" });
    else this.form.scrollIntoView({ block: "nearest" });
    (this.fields.who ?? this.fields.happened).focus({ preventScroll: beside });
  }

  /**
   * {ms, text, heard}: words that were said about a moment, and what was heard in them: {players:
   * ids, skill, verdict, happened, do_instead}. What the person has put in already stays.
   */
  take({ ms, text, heard }) {
    const isBlank = this.isBlank;
    const { happened, do_instead: answer, who, skill } = this.fields;
    this.moment({ why: "comment", startMs: isBlank ? ms : this.startMs ?? ms, endMs: isBlank ? null : readTime(this.fields.end_ms.value) });
    const isParted = Boolean(heard?.do_instead) && !answer.value.trim();
    if (isParted) answer.value = heard.do_instead;
    happened.value = [happened.value.trim(), isParted ? heard.happened : text].filter(Boolean).join(" ");
    if (heard?.verdict && !this.fields.verdict.value) this.judge(heard.verdict);
    const picker = this.querySelector("player-picker");
    if (heard?.players.length && picker && !who.value.trim() && !picker.querySelector(".chip")) picker.picked = heard.players;
    if (heard?.skill && !skill.value.trim()) {
      skill.value = heard.skill;
      skill.dispatchEvent(new Event("input", { bubbles: true }));
    }
    this.changed();
  }

  /** Is nothing written yet, whatever moment it is about? */
  get isBlank() {
    const names = ["who", "skill", "happened", "do_instead"];
    return this.getAttribute("comment") === "new" && !this.querySelector(".chip") && names.every((name) => !this.fields[name]?.value.trim());
  }

  /** A verdict's key: on the film it begins a comment, on the way to the words it goes on to them. */
  verdict(value, { target }) {
    const begins = this.isBlank && !this.contains(target);
    if (target === this.fields.skill) this.querySelector("skill-picker").settle();
    this.judge(value);
    if (begins) document.querySelector("film-player")?.comment?.();
    else if (target === this.fields.skill || target.closest?.("[name=verdict]")) this.onward();
  }

  /** From the skill to the verdict; where that is known, to the words. */
  onward() {
    const radios = [...this.form.querySelectorAll("[name=verdict]")];
    if (radios.some((radio) => radio.checked)) this.fields.happened.focus();
    else radios[0].focus();
  }

  /** Enter in the words: on to "Next time", then the draft is kept; with Shift it is a new line. */
  enter(event) {
    if (event.key !== "Enter" || event.shiftKey || event.altKey || event.ctrlKey || event.metaKey || event.isComposing) return;
    if (event.target.closest("[name=verdict]")) {
      event.preventDefault();
      this.onward();
    } else if (this.hasAttribute("enter-keeps") && event.target.matches("[name=happened], [name=do_instead]")) {
      event.preventDefault();
      if (event.target === this.fields.happened) this.fields.do_instead.focus();
      else this.form.requestSubmit();
    }
  }

  judge(value) {
    this.form.querySelector(`[name=verdict][value=${value}]`).checked = true;
    this.changed();
  }

  click(event) {
    const words = event.target.closest("[data-phrase]");
    if (words) this.insert(words.dataset.phrase);
  }

  /** Cue or phrase number so, in the order they are shown. */
  say(number) {
    const shown = [...this.querySelectorAll("[data-phrase]")].filter((button) => button.offsetParent);
    if (shown[number - 1]) this.insert(shown[number - 1].dataset.phrase);
  }

  insert(words) {
    const field = this.fields.do_instead;
    const now = field.value.trim();
    field.value = now ? `${now.replace(/[;,.]$/, "")}; ${words}` : words.charAt(0).toUpperCase() + words.slice(1);
    field.focus();
    this.changed();
  }

  changed() {
    this.show();
    clearTimeout(this.later);
    this.later = setTimeout(() => this.showStill(), STILL_AFTER_MS);
    this.keep();
  }

  show() {
    const skill = this.fields.skill.value;
    const list = this.querySelector("ol[data-cues]");
    const cues = this.querySelector("skill-picker").cues;
    if (list.dataset.of !== skill) {
      list.dataset.of = skill;
      list.hidden = !cues.length;
      list.replaceChildren(...cues.map((cue) => {
        const row = document.createElement("li");
        row.append(Object.assign(document.createElement("button"), { type: "button", className: "cue", textContent: cue }));
        row.firstChild.dataset.phrase = cue;
        return row;
      }));
    }
    for (const row of this.querySelectorAll(".phrases li")) row.hidden = Boolean(row.dataset.skill) && row.dataset.skill !== skill;
    this.number();
    const verdict = this.fields.verdict.value;
    this.querySelector("[data-needed]").hidden = verdict !== "not_yet" || Boolean(this.fields.do_instead.value.trim());
  }

  /** Writes the key in front of each cue and phrase. */
  number() {
    const rows = [...this.querySelectorAll("[data-phrase]")].filter((button) => !button.closest("[hidden]"));
    rows.forEach((button, index) => {
      button.querySelector("kbd")?.remove();
      if (index >= MOST_KEYS) return;
      button.prepend(Object.assign(document.createElement("kbd"), { textContent: `Alt+${index + 1}` }));
    });
  }

  showStill() {
    const start = readTime(this.fields.start_ms.value);
    if (start === null) {
      this.image.hidden = true;
      return;
    }
    const player = document.querySelector("film-player");
    // A film that is played off this device has no stills yet but what is on screen.
    if (player?.reel) return this.showHere(player.currentMs() === start ? player.reel.still() : "");
    const address = `${this.getAttribute("still")}?ms=${start}`;
    if (this.image.getAttribute("src") !== address) this.image.src = address;
    else if (this.image.complete && this.image.naturalWidth) this.image.hidden = false;
  }

  showHere(address) {
    if (address) this.image.src = address;
    this.image.hidden = !address;
  }

  keep() {
    const typed = [...new FormData(this.form)].filter(([name]) => !["csrfmiddlewaretoken", "next"].includes(name));
    try {
      sessionStorage.setItem(this.place, JSON.stringify(typed));
    } catch {
      // storage may be closed to us; then a reload loses what is typed
    }
  }

  forget(place) {
    try {
      sessionStorage.removeItem(place);
    } catch {
      // nothing was kept there either
    }
  }

  restore() {
    let typed = [];
    try {
      typed = JSON.parse(sessionStorage.getItem(this.place) ?? "[]");
    } catch {
      return;
    }
    for (const [name, value] of typed) {
      if (name === "verdict") this.judge(value);
      else if (name !== "players" && this.fields[name]) this.fields[name].value = value;
    }
    this.querySelector("drawing-board")?.read();
    const picker = this.querySelector("player-picker");
    if (typed.length && picker) picker.picked = typed.filter(([name]) => name === "players").map(([, key]) => key);
  }
}

customElements.define("comment-form", CommentForm);
