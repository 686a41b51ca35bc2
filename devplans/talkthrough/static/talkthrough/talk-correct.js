/**
 * <talk-correct talk="…" words="address of the words" check="address of check and send">: a talk is
 * corrected row by row, by keys or by touch. Every button of a step carries `do`, which goes to the
 * server; what comes back are the rows that changed. Steps wait for each other, so a key that is
 * pressed early means the row that is current by then. The film follows through film:seek and
 * film:loop. Without scripts each button loads the page once more.
 */
import { send } from "../portal/http.js";
import { shortcuts } from "../film/shortcuts.js";
import { Cut } from "./talk-cut.js";
import { Editor } from "./talk-editor.js";

const AROUND_MS = 1000;
const MOMENT_MS = 3000;
const SEEK_AFTER_MS = 200;
const WORDS_AFTER_MS = 300;
const GOES_ON = /^(accept|drop|certain)$/;
const VERDICTS = { "did-it": ["d", "did_it"], "not-yet": ["n", "not_yet"], note: ["t", "note"] };
const MOST_KEYS = 9;

class TalkCorrect extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.words = this.querySelector(".talk-keys").dataset;
    this.form = this.querySelector("#talk-form");
    this.list = this.querySelector("[data-rows]");
    this.pane = this.querySelector("[data-words]");
    this.said = this.querySelector("[data-said]");
    this.turn = Promise.resolve();
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this.form, "submit", (event) => this.submit(event));
    on(this, "click", (event) => this.click(event));
    on(this.list, "focusin", (event) => this.focused(event));
    on(this.list, "keydown", (event) => this.entered(event));
    on(this.list, "change", ({ target }) => { if (target === this.asking) this.agreed(target); });
    on(window, "beforeunload", (event) => { if (this.editor?.isDirty) event.preventDefault(); });
    this.addKeys(signal);
    const named = location.hash.startsWith("#s-") && document.getElementById(location.hash.slice(1));
    this.select(named || this.open()[0] || this.rows()[0], { quietly: true });
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  rows() {
    return [...this.list.children];
  }

  open() {
    return this.rows().filter((row) => row.dataset.state === "open");
  }

  get id() {
    return this.current?.dataset.id;
  }

  addKeys(signal) {
    const group = this.words.group;
    const add = (name, key, run, label) => shortcuts.add(`talk-${name}`, key, (event) => this.queue(() => run(event)), { label, group });
    add("accept", "enter", () => this.act("accept"), this.words.accept);
    add("next", "arrowdown", () => this.step(1), this.words.next);
    add("previous", "arrowup", () => this.step(-1), this.words.previous);
    add("edit", "e", () => this.edit(), this.words.edit);
    add("drop", "x", () => this.act(this.current?.dataset.state === "dropped" ? "reopen" : "drop"), this.words.drop);
    for (const [name, [key, value]] of Object.entries(VERDICTS)) {
      add(name, key, () => this.judge(value), this.words[name.replace(/-(.)/g, (_, letter) => letter.toUpperCase())]);
    }
    for (let number = 1; number <= MOST_KEYS; number += 1) {
      add(`pick-${number}`, String(number), () => this.pick(String(number)), `${this.words.pick} ${number}`);
    }
    add("pick-0", "0", () => this.pick("0"), `${this.words.pick} 0`);
    add("who", "h", () => this.edit({ who: true }), this.words.who);
    add("merge", "j", () => this.act("merge"), this.words.merge);
    add("cut", "k", () => this.cut(), this.words.cut);
    add("play", "p", () => this.play(), this.words.playMoment);
    add("undo", "u", () => this.do("undo"), this.words.undo);
    add("certain", "c", () => this.do("certain"), this.words.certain);
    add("finish", "q", () => this.do("finish"), this.words.finish);
    add("left", "l", () => this.nextLeft(), this.words.left);
    add("again", "r", () => this.do("again"), this.words.again);
    add("voice", "o", () => this.voice(), this.words.voice);
    add("yes", "y", () => this.press("[data-yes]"), this.words.yes);
    shortcuts.add("check", "v", () => this.queue(() => this.leave()), { label: this.words.check, group });
    if (!document.querySelector("film-player")) shortcuts.listen({ signal });
  }

  /** One after the other; what fails is told and the next one goes on. */
  queue(run) {
    this.turn = this.turn.then(run).catch((error) => this.failed(error));
    return this.turn;
  }

  failed(error) {
    this.say(error.status === 0 ? this.words.lost : error.message, true);
  }

  say(text, warns = false) {
    this.said.textContent = text;
    this.said.classList.toggle("warn", warns);
  }

  submit(event) {
    event.preventDefault();
    const value = event.submitter?.value;
    if (value) this.queue(() => this.do(value));
  }

  click(event) {
    const { target } = event;
    const seek = target.closest("[data-seek]");
    if (seek) return this.seek(Number(seek.dataset.seek));
    const of = target.closest("[data-words] [data-of]");
    if (of) return void this.queue(() => this.select(document.getElementById(`s-${of.dataset.of}`)));
    const row = target.closest(".talk-row");
    if (!row) return;
    if (row !== this.current && !target.closest(".talk-editor")) this.queue(() => this.select(row, { focus: !target.closest("a, button, input, label") }));
    if (target.closest("[data-edit]") && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      this.queue(() => this.edit());
    } else if (target.closest("[data-play]")) this.play();
    else if (target.closest("[data-cut]")) this.cut();
    else if (target.closest("[data-no]")) {
      target.closest(".talk-ask").remove();
      row.focus();
    }
  }

  /** Who walks on with Tab makes the row that he comes to the current one. */
  focused({ target }) {
    const row = target.closest(".talk-row");
    if (row && row !== this.current && !this.editor) this.select(row, { focus: false });
  }

  /** Makes a row the current one; an open form is kept first. */
  async select(row, { focus = true, quietly = false } = {}) {
    if (!row) return;
    if (this.editor && this.editor.row !== row && !(await this.editor.close())) return;
    this.cutting?.close();
    if (this.current !== row) this.current?.removeAttribute("aria-current");
    this.current = row;
    row.setAttribute("aria-current", "true");
    if (!quietly && focus) row.focus({ preventScroll: true });
    if (!quietly) this.show(row);
    this.light();
    clearTimeout(this.seeking);
    if (row.dataset.state === "open") this.seeking = setTimeout(() => this.seek(Number(row.dataset.start)), SEEK_AFTER_MS);
  }

  show(row) {
    row.scrollIntoView({ block: "nearest" });
  }

  /** The words of the current row stand out, and are in sight. */
  light() {
    if (!this.pane) return;
    for (const old of this.pane.querySelectorAll(".now")) old.classList.remove("now");
    const mine = [...this.pane.querySelectorAll(`[data-of="${this.id}"]`)];
    for (const words of mine) words.classList.add("now");
    if (!mine.length || !this.pane.offsetParent) return;
    const [top, box] = [mine[0].getBoundingClientRect().top, this.pane.getBoundingClientRect()];
    if (top < box.top || top > box.bottom - 48) this.pane.scrollTop += top - box.top - box.height / 3;
  }

  step(by) {
    const rows = this.rows();
    const to = rows[rows.indexOf(this.current) + by];
    if (this.editor && !to) return this.editor.close();
    return this.select(to);
  }

  seek(ms) {
    document.dispatchEvent(new CustomEvent("film:seek", { detail: { ms } }));
  }

  play() {
    if (!this.current) return;
    clearTimeout(this.seeking);
    const start = Number(this.current.dataset.start);
    const end = this.current.dataset.end ? Number(this.current.dataset.end) : start + MOMENT_MS;
    document.dispatchEvent(new CustomEvent("film:loop", { detail: { startMs: Math.max(0, start - AROUND_MS), endMs: end + AROUND_MS } }));
  }

  async act(what) {
    if (!this.current) return;
    if (this.editor && !(await this.editor.close())) return;
    await this.do(`${what}:${this.id}`);
  }

  async judge(value) {
    if (this.editor) this.editor.judge(value);
    else if (this.current) await this.do(`verdict:${this.id}:${value}`);
  }

  /** What is offered under that digit; where nothing is, the digit begins a player's number. */
  async pick(digit) {
    if (this.editor?.who) this.editor.type(digit);
    else if (this.current?.querySelector(`[data-key="${digit}"]`)) await this.press(`[data-key="${digit}"]`);
    else {
      await this.edit({ who: true });
      this.editor?.type(digit);
    }
  }

  /** Presses what is offered in the current row. */
  async press(selector) {
    const button = this.editor ? null : this.current?.querySelector(selector);
    if (button) await this.do(button.value);
  }

  async voice() {
    const button = this.current?.querySelector(".talk-voice button");
    if (!button) return;
    const box = this.current.querySelector(".talk-voice input");
    if (box && !box.checked) {
      this.asking = box;
      box.focus();
      this.say(this.words.agree);
    } else await this.do(button.value);
  }

  /** He was asked for this tick: his voice goes along then, and the keys are the row's again. */
  agreed(box) {
    const row = box.closest(".talk-row");
    this.asking = null;
    if (!box.checked) return;
    this.queue(async () => {
      try {
        await this.do(box.closest(".talk-voice").querySelector("button").value);
      } catch (error) {
        box.checked = false;
        row.focus({ preventScroll: true });
        throw error;
      }
    });
  }

  /** Enter on a tick box accepts as it does on the row; not where its tick was just refused. */
  entered(event) {
    const box = event.target.closest("[name^=agreed-]");
    if (!box || event.key !== "Enter" || event.altKey || event.ctrlKey || event.metaKey || event.isComposing) return;
    event.preventDefault();
    const was = box.checked;
    this.queue(() => (was && box.isConnected && !box.checked ? undefined : this.act("accept")));
  }

  nextLeft() {
    const all = [...(this.pane?.querySelectorAll("[data-left]") ?? [])];
    this.pane?.closest("details")?.setAttribute("open", "");
    const at = all.indexOf(document.activeElement);
    const after = at >= 0 ? all[at + 1] : this.leftAfterCurrent(all);
    const to = after ?? all[0];
    if (to) to.focus();
    else this.say(this.words.noneLeft);
  }

  leftAfterCurrent(all) {
    const mine = this.pane.querySelector(`[data-of="${this.id}"]`);
    return mine ? all.find((one) => mine.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING) : all[0];
  }

  async leave() {
    if (this.editor && !(await this.editor.close())) return;
    location.assign(this.getAttribute("check"));
  }

  /** who: only that is asked, and one player takes the place of those who stand there. */
  async edit({ who = false } = {}) {
    if (this.current?.dataset.state !== "open" || this.editor?.row === this.current) return;
    if (this.editor && !(await this.editor.close())) return;
    this.editor = new Editor(this.current, {
      who,
      words: this.words,
      kept: (answer) => this.apply(answer, { keepRow: true }),
      closed: (answer) => {
        this.editor = null;
        if (answer) this.apply(answer);
        this.current?.focus({ preventScroll: true });
      },
    });
    await this.editor.open();
    this.show(this.current);
  }

  cut() {
    if (this.current?.dataset.state !== "open" || this.editor) return;
    this.cutting?.close();
    this.cutting = new Cut(this.current, {
      words: this.words,
      say: (text) => this.say(text),
      done: (at) => this.queue(() => this.do(`split:${this.id}:${at}`)),
      closed: () => { this.cutting = null; this.current?.focus({ preventScroll: true }); },
    });
  }

  async do(value) {
    const [what] = value.split(":");
    const body = new FormData(this.form);
    body.set("do", value);
    const answer = await send("POST", this.form.action, body);
    if (answer.reload) return location.reload();
    const next = this.nextOpen();
    await this.apply(answer);
    if (GOES_ON.test(what)) await this.select(next?.isConnected && next.dataset.state === "open" ? next : this.open()[0] ?? this.current);
  }

  /** The open row after the current one, else the first one before it. */
  nextOpen() {
    const rows = this.rows();
    const at = rows.indexOf(this.current);
    const isOpen = (row) => row.dataset.state === "open";
    return rows.slice(at + 1).find(isOpen) ?? rows.slice(0, Math.max(0, at)).find(isOpen);
  }

  /** {rows, gone, head, ask, said, current, words} of the server, put into the page. */
  async apply(answer, { keepRow = false } = {}) {
    for (const key of answer.gone) document.getElementById(`s-${key}`)?.remove();
    for (const row of answer.rows) if (!keepRow || row.id !== this.editor?.row.dataset.id) this.put(row);
    this.querySelector("[data-foot]").innerHTML = answer.head;
    this.say(answer.said);
    this.asked ??= new Map();
    if (answer.ask) this.asked.set(answer.current, answer.ask);
    if (answer.words) this.renew();
    if (keepRow) return;
    const current = document.getElementById(`s-${answer.current}`) ?? (this.current?.isConnected ? this.current : this.open()[0]);
    await this.select(current);
    const ask = this.asked.get(this.id);
    if (ask) this.current.lastElementChild.insertAdjacentHTML("beforeend", ask);
    this.asked.delete(this.id);
  }

  put({ id, place, html }) {
    const holder = document.createElement("template");
    holder.innerHTML = html.trim();
    const fresh = holder.content.firstElementChild;
    const old = document.getElementById(`s-${id}`);
    if (old) {
      old.replaceWith(fresh);
      if (old === this.current) this.current = fresh;
      if (old.hasAttribute("aria-current")) fresh.setAttribute("aria-current", "true");
      return;
    }
    const after = this.rows().find((row) => Number(row.dataset.place) > place);
    if (after) after.before(fresh);
    else this.list.append(fresh);
  }

  /** The words side once more, a little later: steps come in rows. */
  renew() {
    clearTimeout(this.renewing);
    this.renewing = setTimeout(async () => {
      const answer = await fetch(this.getAttribute("words"), { credentials: "same-origin", signal: this.stop.signal }).catch(() => null);
      if (!answer?.ok || !this.pane) return;
      const [top, at] = [this.pane.scrollTop, this.pane.contains(document.activeElement)];
      this.pane.innerHTML = await answer.text();
      this.pane.scrollTop = top;
      if (at) this.current?.focus({ preventScroll: true });
      this.light();
    }, WORDS_AFTER_MS);
  }
}

customElements.define("talk-correct", TalkCorrect);
