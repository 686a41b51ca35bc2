/**
 * <talk-heard data-talk="…" [data-state="…"] lines="…" drop="…" recorded="…">: how far one talk is
 * and what was heard of it, asked for until it is written down; without a state it is not sent yet.
 */
import { clock } from "../film/times.js";
import { send } from "../portal/http.js";

const SOON_MS = 1000;
const LATER_MS = 4000;
const SOON_TIMES = 40;
const IS_OVER = new Set(["ready", "failed"]);

customElements.define("talk-heard", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.words = this.closest("talk-over").querySelector("template.talk-words").dataset;
    this.parts = Object.fromEntries([...this.querySelectorAll("[data-heard]")].map((one) => [one.dataset.heard, one]));
    this.asked = 0;
    this.lines = [];
    this.addEventListener("click", (event) => this.click(event), { signal });
    document.addEventListener("visibilitychange", () => { if (!document.hidden && this.dataset.state) this.poll(); }, { signal });
    document.addEventListener("htmx:afterSettle", () => this.offer(), { signal });
    if (this.dataset.state) this.poll();
    else this.say(this.words.onItsWay);
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.timer);
  }

  async poll() {
    clearTimeout(this.timer);
    if (this.isAsking || document.hidden || IS_OVER.has(this.dataset.state) && this.asked) return;
    this.isAsking = true;
    try {
      this.show(await send("GET", this.getAttribute("lines"), null, { signal: this.stop.signal }));
    } catch (error) {
      if (error.name === "AbortError") return;
      // It is on its way, or there is no connection: what is not sent is told of elsewhere.
      this.say(this.words.onItsWay);
    } finally {
      this.isAsking = false;
    }
    if (IS_OVER.has(this.dataset.state)) return;
    this.asked += 1;
    this.timer = setTimeout(() => this.poll(), this.asked < SOON_TIMES ? SOON_MS : LATER_MS);
  }

  say(words) {
    if (this.parts.state.textContent !== words) this.parts.state.textContent = words;
  }

  show(found) {
    if (!found?.state) return this.say(this.words.onItsWay);
    const { words, parts } = this;
    const { state, kind, lines, correct, progress, problem, suggestions } = found;
    this.dataset.state = state;
    this.lines = lines;
    this.comment = found.comment;
    const isBusy = this.isMine;
    const said = {
      recording: isBusy ? words.onItsWay : words.leftOpen, waiting: words.waits, writing: words.writing.replace("{percent}", String(Math.round(100 * progress))),
      ready: lines.length ? words.ready.replace("{count}", String(suggestions)) : words.nothingHeard, failed: problem || words.failed,
    };
    this.say(said[state] ?? "");
    parts.finish.hidden = state !== "recording" || isBusy;
    const isThere = state === "failed" || (state === "ready" && lines.length > 0);
    parts.correct.hidden = !isThere || !correct;
    parts.correct.href = correct || "#";
    this.isUsable = kind === "moment" && lines.length > 0;
    this.offer();
    parts.again.hidden = kind !== "moment" || !IS_OVER.has(state);
    this.showLines(kind);
    return undefined;
  }

  /** The words go into the comment's form, where that is there by now. */
  offer() {
    this.parts.use.hidden = !this.isUsable || !document.querySelector("comment-form");
  }

  /** Sent by this page, or still being sent. */
  get isMine() {
    return this.hasAttribute("fresh");
  }

  showLines(kind) {
    const shown = kind === "moment" ? this.lines : this.lines.slice(this.isMine ? -6 : this.lines.length);
    this.parts.words.replaceChildren(...shown.map(({ start_ms: ms, text }) => {
      const row = document.createElement("li");
      const time = Object.assign(document.createElement("button"), { type: "button", className: "link figure time", textContent: clock(ms).replace(/\.\d$/, "") });
      time.dataset.ms = ms;
      row.append(time, " ", Object.assign(document.createElement("span"), { textContent: text }));
      return row;
    }));
  }

  async click(event) {
    const time = event.target.closest("[data-ms]");
    if (time) document.dispatchEvent(new CustomEvent("film:seek", { detail: { ms: Number(time.dataset.ms) } }));
    const wish = event.target.closest("[data-do]")?.dataset.do;
    if (wish === "use") this.use();
    if (wish === "finish") await this.ask("recorded");
    if (wish === "again" || (wish === "drop" && confirm(this.words.sure))) await this.drop(wish === "again");
  }

  async ask(name) {
    try {
      await send("POST", this.getAttribute(name));
      return true;
    } catch (error) {
      if (error.status === 404) return true;
      this.say(error.message);
      return false;
    } finally {
      this.poll();
    }
  }

  async drop(isAgain) {
    const startMs = this.lines[0]?.start_ms ?? null;
    const place = this.closest("talk-over");
    if (!(await this.ask("drop"))) return;
    place.dispatchEvent(new CustomEvent("talk:gone", { detail: { id: this.dataset.talk } }));
    if (isAgain) place.dispatchEvent(new CustomEvent("talk:again", { detail: { startMs } }));
    this.remove();
  }

  /** What was heard goes into the comment's form, at the moment that it was said about. */
  use() {
    const text = this.lines.map((line) => line.text).join(" ");
    const { start_ms: ms } = this.lines[0];
    document.dispatchEvent(new CustomEvent("comment:words", { detail: { ms, text, heard: this.comment } }));
  }
});
