/**
 * <list-show back="…">: plays the spans of a clip list one after the other, on a wall or a phone.
 *
 * Two videos take turns: while one plays, the other already stands on the first frame of what comes
 * next. Where a comment was drawn on, the film waits on that frame and shows the drawing. On the
 * stopped picture one draws with the pointer; it is gone when the film goes on. Nothing is sent.
 */
import { KeyList } from "../film/key-list.js";
import { Keys } from "../portal/keys.js";
import { Pen } from "./show-pen.js";

const SLOW = 0.5;
const DRAWN_FOR_MS = 3500;
const QUIET_AFTER_MS = 2500;
const SAID_FOR_MS = 4000;
const STROKE_FROM_PX = 6;
// The last frame of a span begins before its end; a browser tells times some way apart.
const EARLY_MS = 12;

/** Milliseconds as "3:20". */
export function minutes(ms) {
  const seconds = Math.ceil(ms / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

class ListShow extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    const { clips, words } = JSON.parse(this.querySelector("#programme").textContent);
    Object.assign(this, { clips, hasWords: words, at: -1, slow: false, loop: false, stopsEach: false, wish: 0 });
    this.labels = this.querySelector(".show-labels").dataset;
    this.stage = this.querySelector(".show-stage");
    this.videos = [...this.querySelectorAll("video")];
    this.pen = new Pen(this.querySelector(".show-pen"));
    this.piece = (name) => this.querySelector(`.show-${name}`);
    this.actions = this.named();
    this.addKeys(signal);
    this.listen(signal);
    const first = this.playable(0, 1);
    if (first !== null) this.prepare(this.videos[0], first);
  }

  disconnectedCallback() {
    this.stop.abort();
    cancelAnimationFrame(this.frame);
  }

  named() {
    return {
      start: () => { this.wholeScreen(true); this.begin(); },
      "start-here": () => this.begin(),
      play: () => this.toggle(),
      next: () => this.step(1),
      previous: () => this.step(-1),
      again: () => this.again(),
      slow: () => this.turnSlow(),
      loop: () => this.turnLoop(),
      "stop-each": () => { this.stopsEach = !this.stopsEach; this.say(this.stopsEach ? "stops" : "runs"); },
      words: () => { this.hasWords = !this.hasWords; this.tellWords(); },
      sound: () => this.turnSound(),
      wipe: () => this.wipe(),
      undo: () => { this.pen.undo(); this.tellPen(); },
      "whole-screen": () => this.wholeScreen(!document.fullscreenElement),
      keys: () => { this.pause(); this.keyList.open(); },
      "usual-keys": () => this.keyList.reset(),
      close: () => { if (!document.fullscreenElement) location.assign(this.getAttribute("back")); },
    };
  }

  addKeys(signal) {
    this.keys = new Keys("list-show");
    const keys = [
      ["play", "space"], ["next", "arrowright"], ["previous", "arrowleft"], ["again", "a"], ["slow", "s"], ["loop", "l"], ["stop-each", "e"],
      ["words", "w"], ["sound", "m"], ["wipe", "x"], ["undo", "z"], ["whole-screen", "f"], ["keys", "?"], ["close", "escape"],
    ];
    for (const [name, key] of keys) {
      const label = this.labels[name.replace(/-(.)/g, (_, letter) => letter.toUpperCase())];
      this.keys.add(name, key, () => { if (this.at >= 0 || name === "keys" || name === "close") this.actions[name](); }, { label });
    }
    this.keyList = new KeyList(this.querySelector("dialog"), { shortcuts: this.keys, words: this.labels, signal });
    this.keys.listen({ signal });
  }

  listen(signal) {
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this, "click", (event) => {
      const wish = event.target.closest("[data-do]");
      if (wish) this.actions[wish.dataset.do]();
    });
    for (const video of this.videos) {
      on(video, "play", () => video === this.video && this.playing());
      on(video, "pause", () => this.tellPlaying());
      on(video, "ended", () => video === this.video && this.finished());
      on(video, "error", () => video === this.video && video.src && this.say("broken"));
    }
    on(this.stage, "pointerdown", (event) => this.press(event));
    on(this.stage, "pointermove", (event) => this.stroke(event));
    on(this.stage, "pointerup", (event) => this.lift(event));
    on(this.stage, "pointercancel", () => { this.pressed = null; });
    on(document, "keydown", () => this.wake());
    on(window, "resize", () => this.wipe());
  }

  get video() {
    return this.videos[0];
  }

  get clip() {
    return this.clips[this.at];
  }

  /** The next place from `from` on, in steps of `by`, that can be played; null where there is none. */
  playable(from, by) {
    for (let place = from; this.clips[place]; place += by) if (!this.clips[place].problem) return place;
    return null;
  }

  // What is on screen

  prepare(video, place) {
    const clip = this.clips[place];
    if (video.getAttribute("src") !== clip.src) video.src = clip.src;
    video.place = place;
    const seek = () => { video.currentTime = (clip.start + 0.5) / 1000; };
    if (video.readyState > 0) seek();
    else video.addEventListener("loadedmetadata", () => video.place === place && seek(), { once: true });
  }

  isAtStart(video) {
    return Math.abs(video.currentTime * 1000 - this.clips[video.place].start) < 500;
  }

  /** Resolves when the video stands on the first frame it was prepared for. */
  ready(video) {
    const stands = () => video.readyState >= 2 && !video.seeking && this.isAtStart(video);
    if (stands()) return Promise.resolve();
    return new Promise((done) => {
      const stop = new AbortController();
      const look = () => { if (stands()) { stop.abort(); done(); } };
      for (const name of ["seeked", "canplay", "loadeddata"]) video.addEventListener(name, look, { signal: stop.signal });
    });
  }

  begin() {
    this.piece("start").hidden = true;
    for (const name of ["bar", "place"]) this.piece(name).hidden = false;
    this.tellWords();
    const first = this.playable(0, 1);
    this.tellPassed(-1, first);
    this.videos.reverse();
    this.show(first);
    navigator.wakeLock?.request("screen").catch(() => {});
    if (document.activeElement !== document.body) document.activeElement.blur();
    this.wake();
  }

  /** Goes to a clip and plays it; the picture before stays until the new one is there. */
  async show(place) {
    const wish = ++this.wish;
    const [, next] = this.videos;
    this.release();
    this.wipe();
    // The clip before was played to its end on this one: it has to go back to its beginning.
    if (next.place !== place || !this.isAtStart(next)) this.prepare(next, place);
    this.at = place;
    this.changing = true;
    this.tell();
    await this.ready(next);
    if (wish !== this.wish) return;
    this.changing = false;
    this.video.pause();
    this.videos.reverse();
    this.video.classList.add("seen");
    next.setAttribute("aria-hidden", "false");
    this.videos[1].classList.remove("seen");
    this.videos[1].setAttribute("aria-hidden", "true");
    this.play();
    const following = this.playable(place + 1, 1);
    if (following !== null) this.prepare(this.videos[1], following);
  }

  step(by) {
    const place = this.playable(this.at + by, by);
    if (place === null) return by < 0 ? this.again() : this.done();
    this.tellPassed(this.at, place);
    return this.show(place);
  }

  again() {
    this.release();
    this.wipe();
    if (this.video.error) this.video.load();
    this.prepare(this.video, this.at);
    this.play();
  }

  finished() {
    if (this.changing) return undefined;
    if (this.loop) return this.again();
    this.video.pause();
    if (this.stopsEach && this.playable(this.at + 1, 1) !== null) return undefined;
    return this.step(1);
  }

  done() {
    this.video.pause();
    this.piece("left").textContent = this.labels.done;
  }

  // Playing

  play() {
    this.release();
    this.video.playbackRate = this.slow ? SLOW : 1;
    this.video.play().catch(() => this.tellPlaying());
  }

  pause() {
    this.release();
    this.video.pause();
  }

  toggle() {
    if (this.held) return this.play();
    if (!this.video.paused) return this.pause();
    // At the end of a clip, going on means the next one.
    if (this.video.currentTime * 1000 >= this.clip.end - EARLY_MS) {
      return this.playable(this.at + 1, 1) === null ? this.again() : this.step(1);
    }
    return this.play();
  }

  playing() {
    this.wipe();
    this.tellPlaying();
    cancelAnimationFrame(this.frame);
    this.before = this.video.currentTime * 1000;
    this.frame = requestAnimationFrame(() => this.tick());
  }

  tick() {
    if (this.video.paused) return;
    const now = this.video.currentTime * 1000;
    const { moment, end } = this.clip;
    if (!this.video.seeking) {
      if (moment !== undefined && this.before < moment && now >= moment) this.hold();
      this.before = now;
      this.tellTime(now);
      if (now >= end - EARLY_MS) return void this.finished();
    }
    this.frame = requestAnimationFrame(() => this.tick());
  }

  /** Waits on the frame that was drawn on. */
  hold() {
    this.video.pause();
    const place = this.piece("drawing");
    const drawn = new DOMParser().parseFromString(this.clip.drawing, "image/svg+xml").documentElement;
    place.replaceChildren(document.importNode(drawn, true));
    place.hidden = false;
    this.held = setTimeout(() => this.play(), DRAWN_FOR_MS);
  }

  release() {
    clearTimeout(this.held);
    this.held = null;
    this.piece("drawing").hidden = true;
  }

  turnSlow() {
    this.slow = !this.slow;
    this.video.playbackRate = this.slow ? SLOW : 1;
    this.pressedIs("slow", this.slow);
    this.say(this.slow ? "slowOn" : "slowOff");
  }

  turnLoop() {
    this.loop = !this.loop;
    this.pressedIs("loop", this.loop);
    this.say(this.loop ? "loopOn" : "loopOff");
  }

  turnSound() {
    const muted = !this.video.muted;
    for (const video of this.videos) video.muted = muted;
    this.say(muted ? "soundOff" : "soundOn");
  }

  wholeScreen(wanted) {
    if (!wanted) document.exitFullscreen?.().catch(() => {});
    else this.requestFullscreen?.({ navigationUI: "hide" }).catch(() => {});
  }

  // Drawing on the stopped picture

  press(event) {
    if (event.button || this.at < 0 || event.target.closest(".show-bar, .show-start")) return;
    this.pressed = { x: event.clientX, y: event.clientY, drawing: false, id: event.pointerId };
  }

  stroke(event) {
    const { pressed } = this;
    if (!pressed || pressed.id !== event.pointerId) return this.wake();
    if (!this.video.paused) return undefined;
    const far = Math.hypot(event.clientX - pressed.x, event.clientY - pressed.y) > STROKE_FROM_PX;
    if (!pressed.drawing && far) {
      // The drawing of the comment stays as long as one draws on.
      clearTimeout(this.held);
      this.stage.setPointerCapture(event.pointerId);
      this.pen.begin({ clientX: pressed.x, clientY: pressed.y });
      pressed.drawing = true;
      this.classList.add("quiet");
    }
    if (pressed.drawing) this.pen.draw(event);
    return undefined;
  }

  lift() {
    const { pressed } = this;
    this.pressed = null;
    if (!pressed) return;
    this.wake();
    if (pressed.drawing) this.tellPen();
    else this.toggle();
  }

  wipe() {
    this.pen.wipe();
    this.tellPen();
  }

  // What is said

  tell() {
    const count = this.labels.count.replace("%n", String(this.at + 1)).replace("%all", String(this.clips.length));
    this.piece("count").textContent = count;
    this.piece("skill").textContent = this.clip.skill;
    this.piece("note").textContent = this.clip.words;
    this.tellWords();
    this.tellTime(this.clip.start);
  }

  tellTime(now) {
    const later = this.clips.slice(this.at + 1).reduce((sum, clip) => sum + clip.end - clip.start, 0);
    const left = Math.max(0, this.clip.end - now) + later;
    const words = this.labels.left.replace("%time", minutes(left));
    if (this.piece("left").textContent !== words) this.piece("left").textContent = words;
  }

  tellWords() {
    this.pressedIs("words", this.hasWords);
    this.piece("words").hidden = !this.hasWords || this.at < 0 || !(this.clip.skill || this.clip.words);
  }

  tellPlaying() {
    const still = this.video.paused && !this.held;
    this.querySelector(".show-bar [data-do=play]").textContent = still ? this.labels.nowPlay : this.labels.nowPause;
  }

  tellPen() {
    this.querySelector("[data-do=wipe]").hidden = this.pen.isEmpty;
  }

  /** Says why clips between two places are passed over. */
  tellPassed(from, to) {
    const [first, last] = from < to ? [from + 1, to] : [to + 1, from];
    const passed = this.clips.slice(first, last).filter((clip) => clip.problem);
    if (passed.length) this.sayWords([...new Set(passed.map((clip) => clip.problem))].join(" "));
  }

  say(name) {
    this.sayWords(this.labels[name]);
  }

  sayWords(words) {
    clearTimeout(this.sayingEnds);
    this.piece("said").textContent = words;
    this.sayingEnds = setTimeout(() => { this.piece("said").textContent = ""; }, SAID_FOR_MS);
  }

  pressedIs(name, is) {
    this.querySelector(`.show-bar [data-do=${name}]`).setAttribute("aria-pressed", String(is));
  }

  /** Shows the controls for a while. */
  wake() {
    this.classList.remove("quiet");
    clearTimeout(this.sleeps);
    this.sleeps = setTimeout(() => this.classList.toggle("quiet", this.at >= 0), QUIET_AFTER_MS);
  }
}

customElements.define("list-show", ListShow);
