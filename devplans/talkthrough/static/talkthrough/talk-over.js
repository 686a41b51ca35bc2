/**
 * <talk-over film="…">: talking over the film beside it. A key that is held, or a button, records
 * what is said about this very moment; another one a whole talk-through, while the film plays,
 * stops, goes back, slows down and is drawn on. What is said is kept on this device first, then
 * sent; see talk-store.js and talk-sender.js.
 */
import { shortcuts } from "../film/shortcuts.js";
import { clock } from "../film/times.js";
import { send } from "../portal/http.js";
import { newKey } from "../portal/ids.js";
import { keyOf } from "../portal/keys.js";
import { Badge } from "./badge.js";
import { Choices } from "./choices.js";
import { hindrance } from "./recorder.js";
import { busy, isBusy } from "./tabs.js";
import { Take } from "./take.js";
import { Sender } from "./talk-sender.js";
import { Store } from "./talk-store.js";
import "./talk-heard.js";

// Who lets go sooner has pressed, and talks until he presses again.
const PRESS_MS = 500;
const FEW_MS = 6000;
const LISTEN_MS = 4000;
// What the page's addresses hold where a key or a number goes.
const ZEROS = "00000000-0000-0000-0000-000000000000";
const TAKE = "900001";
const PIECE = "900002";

class TalkOver extends HTMLElement {
  connectedCallback() {
    customElements.upgrade(this);
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.film = this.getAttribute("film");
    this.words = this.querySelector("template.talk-words").dataset;
    this.player = document.querySelector("film-player");
    this.parts = Object.fromEntries([...this.querySelectorAll("[data-part]")].map((one) => [one.dataset.part, one]));
    this.badge = new Badge(this.player, this.words.recording);
    this.pageTitle = document.title;
    this.state = "idle";
    this.talk = this.take = this.held = null;
    this.store = new Store(document.body.dataset.person ?? "");
    // On a server that cannot listen only what was said before is sent.
    this.isDeaf = !this.parts.idle;
    this.ready = this.restore();
    if (this.isDeaf) return;
    this.choices = new Choices(this, { signal, changed: () => this.again() });
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this, "click", (event) => this.click(event));
    on(this, "pointerdown", (event) => this.press(event));
    on(document, "pointerup", () => this.release("pointer"));
    on(document, "pointercancel", () => this.release("pointer"));
    on(document, "keyup", (event) => { if (this.held && keyOf(event) === this.held.key) this.release("key"); });
    on(document, "keydown", (event) => this.escape(event));
    on(globalThis, "blur", () => { if (this.held) this.end(); });
    on(globalThis, "beforeunload", (event) => { if (this.take || this.store.loose.length) event.preventDefault(); });
    on(this, "talk:again", ({ detail }) => this.sayAgain(detail.startMs));
    on(this, "talk:gone", ({ detail }) => this.store.forgetTalk(detail.id));
    this.addKeys();
    this.show();
  }

  disconnectedCallback() {
    if (this.take) this.end();
    this.stop.abort();
  }

  addKeys() {
    const here = () => document.querySelector("talk-over");
    const { group } = this.words;
    shortcuts.add("talk-moment", "j", (event) => here()?.hold(event), { label: this.words.moment, group });
    shortcuts.add("talk-whole", "q", () => here()?.whole(), { label: this.words.whole, group });
    shortcuts.add("talk-undo", "backspace", () => here()?.take?.undo(), { label: this.words.undo, group });
    shortcuts.add("talk-wipe", "y", () => here()?.take?.wipe(), { label: this.words.wipe, group });
  }

  /** An address of this talk, of a take or of a piece of it. */
  address(name, talk, take, piece) {
    return this.getAttribute(name).replace(ZEROS, talk).replace(TAKE, take).replace(PIECE, piece);
  }

  /** What this person said on this device and did not finish, on this film or another one. */
  async restore() {
    const { signal } = this.stop;
    try {
      for (const talk of await this.store.talks()) await this.pickUp(talk);
    } catch {
      this.hinder = "noStore";
      return this.show();
    }
    this.sender = new Sender(this.store, {
      signal,
      addresses: {
        begin: (film, talk) => this.getAttribute("begin").replace(ZEROS, film).replace(ZEROS, talk),
        ...Object.fromEntries(["take", "piece", "recorded", "drop"].map((name) => [name, (...keys) => this.address(name, ...keys)])),
      },
      changed: (state, words) => this.sending(state, words),
    });
    this.sending("sending");
    return this.show();
  }

  async pickUp(talk) {
    if (talk.wish || await isBusy(talk.id)) return;
    const takes = await this.store.takes(talk.id);
    for (const { talk: id, number, version, isEnded } of takes) {
      if (!isEnded) await this.store.change("take", [id, number], { isEnded: true, version: version + 1 });
    }
    if (talk.kind === "moment") await this.store.change("talk", talk.id, { wish: "finish" });
    else if (talk.film !== this.film) this.parts.elsewhere.hidden = false;
    else if (takes.length) {
      this.talk = talk;
      this.state = "stopped";
      await this.count();
    } else await this.store.change("talk", talk.id, { wish: "drop" });
    if (talk.film !== this.film) this.parts.elsewhere.querySelector("a").href = this.getAttribute("film-page").replace(ZEROS, talk.film);
  }

  /** How much was said in the talk that is not finished. */
  async count() {
    const takes = (await this.store.takes(this.talk.id)).filter((take) => !take.isDropped);
    this.saidMs = takes.reduce((sum, { lengthMs }) => sum + (lengthMs ?? 0), 0);
    this.lastTake = takes.at(-1) ?? null;
  }

  click(event) {
    const wish = event.target.closest("[data-talk]")?.dataset.talk;
    if (!wish) return;
    const acts = {
      // A press that held was ended when it was let go; keys press without a pointer.
      moment: () => { if (!event.detail) this.hold(null); },
      whole: () => this.whole(),
      on: () => this.begin("whole"),
      stop: () => this.end(),
      undo: () => this.take?.undo(),
      wipe: () => this.take?.wipe(),
      again: () => this.again(),
      finish: () => this.finish(),
      drop: () => { if (confirm(this.words.sure)) this.drop(); },
      retry: () => this.sender?.again(),
      discard: () => { if (confirm(this.words.sure)) this.discard(); },
    };
    acts[wish]?.();
  }

  press(event) {
    if (event.button || !event.target.closest("[data-talk=moment]")) return;
    this.hold({ key: "pointer" });
  }

  /** Talks about this moment while the key is held; a short press begins, the next one ends. */
  hold(event) {
    if (event?.repeat || this.held) return;
    if (this.take?.kind === "moment" || (this.state === "opening" && this.isMoment)) return this.end();
    if (this.take) return;
    const key = event instanceof KeyboardEvent ? keyOf(event) : event?.key;
    if (key) this.held = { key, at: performance.now() };
    this.begin("moment");
  }

  release(by) {
    const { held } = this;
    if (!held || (by === "pointer") !== (held.key === "pointer")) return;
    this.held = null;
    if (performance.now() - held.at < PRESS_MS) return this.show();
    this.end();
  }

  whole() {
    if (this.take) this.end();
    else this.begin("whole");
  }

  escape(event) {
    if (event.key !== "Escape" || event.defaultPrevented || document.querySelector("dialog[open]")) return;
    if (this.take || this.state === "opening") this.end();
  }

  async begin(kind) {
    if (this.state === "opening" || this.state === "closing" || this.take) return;
    const why = this.hinder ?? hindrance();
    if (why) return this.complain(why);
    this.complain(null);
    const { player } = this;
    const before = this.state;
    Object.assign(this, { isMoment: kind === "moment", isCancelled: false, goesOn: !player.video.paused });
    if (this.isMoment) player.pause();
    this.state = "opening";
    this.show();
    await this.ready;
    try {
      this.take = await this.record(kind, this.isMoment ? null : this.talk);
      this.take.kind = kind;
      this.state = "recording";
    } catch (error) {
      this.state = before;
      this.held = null;
      this.soundBack();
      this.complain(error.why ?? "noRecording");
    }
    this.show();
    this.choices.list();
    this.listen();
    if (this.take && this.isCancelled) await this.end({ isEarly: true });
  }

  /** Begins a take of a talk, a new one where there is none. */
  async record(kind, known) {
    const talk = known ?? { id: newKey(), film: this.film, kind, at: Date.now(), next: 0, isBegun: false, wish: null };
    const { isMuted, deviceId } = this.choices;
    this.soundOff(isMuted);
    // Else a browser that runs out of room may throw away what is not sent yet.
    navigator.storage?.persist?.();
    const take = await Take.begin({
      talk: talk.id, number: talk.next, player: this.player, store: this.store, deviceId, isFilmHeard: !isMuted,
      tick: (ms) => this.tick(ms),
      level: (level) => { this.parts.level.value = level; },
      silent: (is) => this.silent(is),
      lost: (why) => { this.complain(why); this.end(); },
      kept: () => this.sender?.ring(),
      unkept: () => this.complain("noRoom"),
    });
    talk.next += 1;
    if (known) await this.store.change("talk", talk.id, { next: talk.next });
    else await this.store.put("talk", talk);
    take.unlock = await busy(talk.id);
    if (kind === "whole") this.talk = talk;
    return take;
  }

  /** What was understood of a talk-through so far, while it is being recorded. */
  async listen() {
    const { take } = this;
    if (take?.kind !== "whole") return;
    const url = this.address("lines", take.talk);
    while (this.take === take) {
      await new Promise((done) => { setTimeout(done, LISTEN_MS); });
      const found = this.take === take ? await send("GET", url).catch(() => null) : null;
      if (found?.so_far?.length) this.parts.soFar.textContent = found.so_far.slice(-2).join(" ");
    }
    this.parts.soFar.textContent = "";
  }

  async end({ isEarly = false } = {}) {
    this.held = null;
    if (this.state === "opening") this.isCancelled = true;
    const { take } = this;
    if (!take || this.state === "closing") return;
    this.state = "closing";
    this.show();
    await take.end();
    take.unlock?.();
    this.take = null;
    this.soundBack();
    if (take.kind === "moment") await this.endMoment(take, isEarly);
    else {
      await this.count();
      this.state = "stopped";
    }
    this.show();
    this.sender?.ring();
  }

  async endMoment(take, isEarly) {
    this.state = this.talk ? "stopped" : "idle";
    await this.store.change("talk", take.talk, { wish: isEarly ? "drop" : "finish" });
    if (isEarly) this.complain("early");
    else this.addRow(take.talk, take.startMs);
    if (this.goesOn) this.player.play();
  }

  addRow(talk, startMs) {
    const row = this.querySelector("template.talk-row").content.cloneNode(true).firstElementChild;
    row.dataset.talk = talk;
    row.querySelector(".time").textContent = clock(startMs ?? 0).replace(/\.\d$/, "");
    for (const name of ["lines", "drop", "recorded"]) row.setAttribute(name, this.address(name, talk));
    this.parts.rows.prepend(row);
    return row;
  }

  row(talk) {
    return this.parts.rows.querySelector(`talk-heard[data-talk="${talk}"]`);
  }

  /** All is said: it is sent and written down. */
  async finish() {
    const { talk, lastTake } = this;
    await this.store.change("talk", talk.id, { wish: "finish" });
    this.row(talk.id)?.remove();
    this.addRow(talk.id, lastTake?.log[0]?.film_ms);
    this.over();
  }

  async drop() {
    await this.store.change("talk", this.talk.id, { wish: "drop" });
    this.over();
  }

  /** What the server does not take is given up. */
  async discard() {
    for (const { id, wish } of await this.store.talks()) if (wish) await this.store.forgetTalk(id);
    this.sender.again();
  }

  over() {
    Object.assign(this, { talk: null, state: "idle", lastTake: null });
    this.show();
    this.sender?.ring();
  }

  /** The take that is recorded, or the last one, is thrown away and said anew from its beginning. */
  async again() {
    const { take } = this;
    if (this.state === "closing" || (!take && !this.lastTake)) return;
    const key = take ? take.key : [this.lastTake.talk, this.lastTake.number];
    const startMs = take ? take.startMs : this.lastTake.log[0]?.film_ms;
    const kind = take?.kind ?? "whole";
    if (take) {
      this.state = "closing";
      await take.end();
      take.unlock?.();
      this.take = null;
      this.soundBack();
      this.state = this.talk ? "stopped" : "idle";
    }
    if (kind === "moment") await this.store.change("talk", key[0], { wish: "drop" });
    else await this.store.change("take", key, { isDropped: true });
    this.sender?.ring();
    if (startMs !== null && startMs !== undefined) await this.player.seek(startMs);
    await this.begin(kind);
  }

  async sayAgain(startMs) {
    if (startMs !== null) await this.player.seek(startMs);
    await this.begin("moment");
  }

  soundOff(isWanted) {
    const { video } = this.player;
    if (!isWanted || video.muted) return;
    video.muted = this.isSoundOff = true;
  }

  soundBack() {
    if (this.isSoundOff) this.player.video.muted = false;
    this.isSoundOff = false;
  }

  tick(ms) {
    const said = clock(ms).replace(/\.\d$/, "");
    this.parts.elapsed.value = said;
    this.badge.say(said);
  }

  silent(is) {
    this.parts.silent.hidden = !is;
  }

  complain(why) {
    this.parts.trouble.hidden = !why;
    this.parts.trouble.textContent = why ? this.words[why] : "";
  }

  /** How the sending goes, and how much is not sent. */
  async sending(state, words = "") {
    const ms = await this.store.unsentMs();
    const isShown = ms > 0 && (state !== "sending" || ms > FEW_MS || !this.take);
    this.parts.unsent.hidden = !isShown && state !== "signed-out" && state !== "refused";
    const seconds = String(Math.ceil(ms / 1000));
    const said = { waiting: this.words.waiting, "signed-out": this.words.signedOut, refused: this.words.refused }[state] ?? this.words.unsent;
    this.parts.unsentWords.textContent = [said.replace("{seconds}", seconds), words].filter(Boolean).join(" ");
    this.parts.retry.hidden = state === "sending" || state === "saved";
    this.parts.discard.hidden = state !== "refused" || Boolean(this.talk || this.take);
    const left = new Set((await this.store.talks()).map(({ id }) => id));
    for (const row of this.querySelectorAll("talk-heard:not([data-state])")) if (!left.has(row.dataset.talk)) row.poll();
  }

  show() {
    const { state, parts } = this;
    this.dataset.state = state;
    if (this.isDeaf) return;
    const isOn = state === "recording" || state === "closing" || state === "opening";
    parts.idle.hidden = isOn || state === "stopped";
    parts.recording.hidden = !isOn;
    parts.stopped.hidden = state !== "stopped";
    parts.head.textContent = state === "recording" ? this.words.recording : this.words.opening;
    parts.how.textContent = this.held ? this.words.letGo : this.words.pressStop;
    if (state === "opening") parts.elapsed.value = "0:00";
    if (state !== "recording") parts.silent.hidden = true;
    if (state === "stopped") parts.said.textContent = this.words.said.replace("{time}", clock(this.saidMs ?? 0).replace(/\.\d$/, ""));
    // What is told above needs no row.
    for (const row of parts.rows.children) row.hidden = Boolean(this.talk) && row.dataset.talk === this.talk.id;
    document.title = state === "recording" ? `${this.words.recording} – ${this.pageTitle}` : this.pageTitle;
    this.badge.show(state === "recording");
    this.player?.toggleAttribute("talked-over", state === "recording");
  }
}

customElements.define("talk-over", TalkOver);
