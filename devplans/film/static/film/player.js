/**
 * <film-player frames="…" duration-ms="…" film="…" [comments]>: a film that stops on exact frames.
 *
 * What lies beside it on the page speaks with it through events. Times are whole milliseconds from
 * the first frame; a frame's time is rounded up, so the frame on screen at `ms` is the frame meant.
 *
 *   it sends, bubbling:  film:moment  {why, ms, startMs, endMs, wasPlaying}
 *                          why "comment": the coach wants to comment on this frame (startMs = ms,
 *                            endMs null), or on the span he has marked, if he has;
 *                          why "begin" or "end": a span was marked; endMs is null until it has an end
 *                        film:time    {ms}: another frame is on screen, at most ten times a second
 *   it hears, on document: film:seek  {ms}: stop on that frame
 *                        film:loop    {startMs, endMs}: play that span over and over
 *                        film:marks   [{ms, verdict, id}]: the marks on the line
 *                        film:possessions, film:possession, film:clock: see possessions.js, clock-marks.js
 *   it offers:           currentMs(), seek(ms), loop(startMs, endMs), clearSpan(), pause();
 *                        attach(reel) plays files of this device, swap({src, frames, durationMs}) the copy
 *   keys:                import { shortcuts } from "../film/shortcuts.js" and add to the same table
 */
import { KeyList } from "./key-list.js";
import { Line } from "./line.js";
import { shortcuts } from "./shortcuts.js";
import { Steps } from "./steps.js";
import { clock, FrameTimes } from "./times.js";

const SPEEDS = [0.1, 0.25, 0.5, 0.75, 1, 1.5, 2];
const TELL_EVERY_MS = 100;

class FilmPlayer extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.video = this.querySelector("video");
    this.words = this.querySelector(".film-words").dataset;
    this.now = this.querySelector(".film-now");
    this.said = this.querySelector(".film-span");
    this.durationMs = Number(this.getAttribute("duration-ms")) || 1;
    this.index = 0;
    this.wanted = null;
    this.span = { startMs: null, endMs: null };
    this.repeated = null;
    this.toldAt = 0;
    this.steps = new Steps(this);
    this.line = new Line(this.querySelector(".film-line"), {
      durationMs: this.durationMs, seek: (ms) => this.move(ms), signal,
    });
    this.keyList = new KeyList(this.querySelector("dialog"), { shortcuts, words: this.words, signal });
    this.video.controls = false;
    for (const part of this.querySelectorAll(".film-line, .film-controls")) part.hidden = false;
    this.actions = this.named();
    this.listen(signal);
    this.addKeys(signal);
    this.watch();
    this.loading = this.loadFrames();
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  async loadFrames() {
    if (!this.hasAttribute("frames")) return;
    const answer = await fetch(this.getAttribute("frames"), { signal: this.stop.signal, credentials: "same-origin" });
    if (!answer.ok) return;
    this.frames = new FrameTimes(await answer.json());
    this.dataset.ready = "";
  }

  named() {
    return {
      play: () => this.toggle(),
      "frame-back": () => this.step(-1),
      "frame-on": () => this.step(1),
      "second-back": () => this.skip(-1000),
      "second-on": () => this.skip(1000),
      slower: () => this.speed(-1),
      faster: () => this.speed(1),
      "usual-speed": () => this.speed(0),
      sound: () => { this.video.muted = !this.video.muted; },
      "whole-screen": () => this.wholeScreen(),
      loop: () => this.loopSpan(),
      comment: () => this.steps.after(() => this.comment()),
      begin: () => this.steps.after(() => this.begin()),
      end: () => this.steps.after(() => this.end()),
      keys: () => this.keyList.open(),
      "usual-keys": () => this.keyList.reset(),
      again: () => this.again(),
      closer: () => this.line.closer(),
    };
  }

  addKeys(signal) {
    const keys = [
      ["play", "space"], ["frame-back", ","], ["frame-on", "."], ["second-back", "arrowleft"], ["second-on", "arrowright"],
      ["slower", "s"], ["faster", "f"], ["usual-speed", "a"], ["sound", "m"], ["whole-screen", "w"], ["closer", "z"],
    ];
    if (this.hasAttribute("comments")) keys.push(["comment", "c"], ["begin", "b"], ["end", "e"], ["loop", "l"]);
    keys.push(["keys", "?"]);
    for (const [name, key] of keys) {
      const word = name.replace(/-(.)/g, (_, letter) => letter.toUpperCase());
      shortcuts.add(name, key, this.actions[name], { label: this.words[word], group: this.words.group });
    }
    shortcuts.listen({ signal });
  }

  listen(signal) {
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this, "click", (event) => {
      const wish = event.target.closest("[data-do]");
      if (wish) this.actions[wish.dataset.do]?.();
    });
    const { video } = this;
    on(video, "click", () => this.toggle());
    on(video, "play", () => this.showPlaying());
    on(video, "pause", () => { this.showPlaying(); this.pin(); });
    on(video, "seeked", () => this.sendSeek());
    on(video, "loadedmetadata", () => this.sendSeek());
    // The poster is a later frame: under the clock of the first one it would mislead.
    on(video, "loadeddata", () => video.removeAttribute("poster"));
    on(video, "timeupdate", () => this.repeat());
    on(video, "volumechange", () => this.showSound());
    on(video, "ended", () => this.ended());
    on(video, "error", () => this.broken(true));
    on(video, "playing", () => this.broken(false));
    on(document, "film:seek", ({ detail }) => this.seek(detail.ms));
    on(document, "film:loop", ({ detail }) => this.loop(detail.startMs, detail.endMs));
    on(document, "film:marks", ({ detail }) => this.line.draw(detail));
    on(document, "film:possession", ({ detail }) => { this.line.aside = detail.words; });
  }

  /** Notes each frame that comes on screen, whose own time the browser tells. */
  watch() {
    this.video.requestVideoFrameCallback?.((_, { mediaTime }) => {
      if (this.stop.signal.aborted) return;
      if (this.reel?.presented(mediaTime)) this.opened();
      this.shown = mediaTime;
      if (this.frames && this.wanted === null && !this.video.seeking) this.at(this.frames.indexOf(this.filmSeconds(mediaTime)));
      this.repeat();
      this.watch();
    });
  }

  currentMs() {
    return this.frames ? this.frames.ms(this.index) : Math.ceil(this.video.currentTime * 1000);
  }

  filmSeconds(videoSeconds) {
    return this.reel ? this.reel.seconds(videoSeconds) : videoSeconds;
  }

  /** Play files of this device, a Reel, until `swap` brings the copy. */
  attach(reel) {
    this.reel = reel;
    this.frames = reel.frames;
    this.setLength(reel.durationMs ?? 0);
    reel.attach(this.video);
    this.dataset.ready = "";
  }

  /** A file of the reel shows its first picture: go where one wanted to be. */
  opened() {
    this.sendSeek();
    if (!this.playsOn) return;
    this.playsOn = false;
    this.play();
  }

  /** The copy is ready: it takes the place of the files, at the same moment. */
  async swap({ src, frames, durationMs }) {
    const ms = this.currentMs();
    const wasPlaying = !this.video.paused;
    this.reel?.end();
    this.reel = this.frames = null;
    this.setAttribute("frames", frames);
    this.setLength(durationMs);
    this.video.src = src;
    await (this.loading = this.loadFrames());
    await this.move(ms);
    if (wasPlaying) this.play();
  }

  setLength(durationMs) {
    this.durationMs = durationMs;
    this.line.setLength(durationMs);
    const told = this.querySelector(".film-length");
    if (told) told.textContent = clock(durationMs).replace(/\.\d$/, "");
  }

  at(index) {
    this.index = index;
    const ms = this.currentMs();
    this.now.value = clock(ms);
    this.line.show(ms, this.now.value);
    const due = performance.now() - this.toldAt > TELL_EVERY_MS;
    if (!due && !this.video.paused) return;
    this.toldAt = performance.now();
    this.tell("film:time", { ms });
  }

  /** The next file of the reel, or the end: who follows hears of the last frame too. */
  ended() {
    this.playsOn = Boolean(this.reel?.goOn());
    if (!this.playsOn) this.tell("film:time", { ms: this.currentMs() });
  }

  tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { bubbles: true, detail }));
  }

  /** Only one seek is on its way at a time; of those asked for meanwhile the last one counts. */
  goTo(index) {
    this.index = this.frames.within(index);
    this.wanted = this.frames.middle(this.index);
    this.at(this.index);
    if (!this.video.seeking) this.sendSeek();
  }

  sendSeek() {
    if (this.wanted === null || this.video.readyState === 0) return;
    const seconds = this.wanted;
    if (this.reel && !this.reel.seek(seconds)) return;
    this.wanted = null;
    if (!this.reel) this.video.currentTime = seconds;
  }

  /** After a pause the browser may yet show the frame after the one it told of last. */
  pin() {
    if (this.video.ended || !this.frames || this.video.seeking || this.wanted !== null) return;
    this.goTo(this.index);
  }

  toggle() {
    if (this.video.paused) this.play();
    else this.pause();
  }

  play() {
    // A play that is interrupted by a pause is nobody's fault; a real one fires "error" too.
    this.video.play().catch(() => this.showPlaying());
  }

  pause() {
    this.video.pause();
  }

  step(count) {
    if (!this.frames) return;
    this.pause();
    if (this.frames.isLive) this.steps.add(count);
    else this.goTo(this.index + count);
  }

  skip(ms) {
    if (!this.frames) return;
    this.repeated = null;
    this.goTo(this.frames.indexAt(Math.max(0, this.currentMs() + ms)));
  }

  async move(ms) {
    await this.loading;
    if (!this.frames) return;
    this.repeated = null;
    this.goTo(this.frames.indexAt(ms));
    this.say();
  }

  /** Stop on the frame that is on screen at `ms`. */
  async seek(ms) {
    this.pause();
    await this.move(ms);
  }

  /** Play from `startMs` to `endMs` over and over, until another place is chosen. */
  async loop(startMs, endMs) {
    await this.move(startMs);
    this.repeated = { startMs, endMs };
    this.say();
    this.play();
  }

  repeat() {
    if (!this.repeated || this.video.seeking || this.wanted !== null || !this.frames) return;
    const { startMs, endMs } = this.repeated;
    if (this.filmSeconds(this.video.currentTime) * 1000 < endMs && !this.video.ended) return;
    const wasPlaying = !this.video.paused || this.video.ended;
    this.goTo(this.frames.indexAt(startMs));
    if (wasPlaying) this.play();
  }

  loopSpan() {
    const { startMs, endMs } = this.span;
    if (this.repeated) this.repeated = null;
    else if (endMs !== null) return this.loop(startMs, endMs);
    this.say();
  }

  speed(by) {
    const at = SPEEDS.indexOf(this.video.playbackRate);
    const next = by ? Math.min(SPEEDS.length - 1, Math.max(0, at + by)) : SPEEDS.indexOf(1);
    this.video.playbackRate = SPEEDS[next];
    this.querySelector(".film-speed").value = `${SPEEDS[next]}×`;
  }

  comment() {
    const wasPlaying = !this.video.paused;
    this.pause();
    const ms = this.currentMs();
    const { startMs, endMs } = this.span;
    const marked = endMs !== null ? { startMs, endMs } : { startMs: ms, endMs: null };
    this.tell("film:moment", { why: "comment", ms, ...marked, wasPlaying });
  }

  begin() {
    const ms = this.currentMs();
    const { endMs } = this.span;
    this.setSpan(ms, endMs !== null && endMs > ms ? endMs : null);
    this.tell("film:moment", { why: "begin", ms, ...this.span });
  }

  end() {
    const ms = this.currentMs();
    const { startMs } = this.span;
    if (startMs === null || startMs >= ms) return;
    this.setSpan(startMs, ms);
    this.tell("film:moment", { why: "end", ms, ...this.span });
  }

  /** Forget the span: the comment on it is written. */
  clearSpan() {
    this.setSpan(null, null);
  }

  setSpan(startMs, endMs) {
    this.span = { startMs, endMs };
    this.line.drawSpan(startMs, endMs);
    this.say();
  }

  say() {
    const { startMs, endMs } = this.repeated ?? this.span;
    if (startMs === null) this.said.textContent = "";
    else if (endMs === null) this.said.textContent = `${this.words.from} ${clock(startMs)}`;
    else this.said.textContent = `${clock(startMs)}–${clock(endMs)}${this.repeated ? ` ${this.words.repeating}` : ""}`;
  }

  showPlaying() {
    const button = this.querySelector("[data-do=play]");
    button.textContent = this.video.paused ? this.words.nowPlay : this.words.nowPause;
  }

  showSound() {
    const button = this.querySelector("[data-do=sound]");
    button.textContent = this.video.muted ? this.words.nowUnmute : this.words.nowMute;
  }

  wholeScreen() {
    const stage = this.querySelector(".film-stage");
    if (document.fullscreenElement) document.exitFullscreen();
    else if (stage.requestFullscreen) stage.requestFullscreen();
    else this.video.webkitEnterFullscreen?.();
  }

  broken(is) {
    this.querySelector(".film-broken").hidden = !is;
  }

  async again() {
    this.broken(false);
    if (!this.frames) await (this.loading = this.loadFrames());
    this.wanted = this.frames?.middle(this.index) ?? null;
    this.video.load();
  }
}

customElements.define("film-player", FilmPlayer);
