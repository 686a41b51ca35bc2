/**
 * <clip-player [voice] [seen="…"]>: plays a clip over and over without sound, slower or on the whole
 * screen if asked. When clip or words have been on screen for two seconds it says so to `seen`.
 * With `voice` the coach speaks in it: a tap on "sound" plays it from its beginning and loud; until
 * then, and whenever it is asked for, the captions stand in the picture.
 */
import { send } from "../portal/http.js";

const SEEN_AFTER_MS = 2000;
const SLOWER = 0.5;

customElements.define("clip-player", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.video = this.querySelector("video");
    this.address = this.getAttribute("seen");
    if (this.video) this.wire(signal);
    document.addEventListener("visibilitychange", () => this.watch(), { signal });
    this.watch();
  }

  disconnectedCallback() {
    this.stop.abort();
    clearTimeout(this.timer);
  }

  wire(signal) {
    const { video } = this;
    video.muted = true;
    video.controls = false;
    this.bar = this.querySelector(".clip-controls");
    this.bar.hidden = false;
    this.button = this.bar.querySelector("[data-do=pause]");
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this.bar, "click", (event) => this.run(event.target.closest("[data-do]")));
    if (this.hasAttribute("voice")) this.speak(on);
    on(video, "click", () => this.toggle());
    on(video, "play", () => this.tell());
    on(video, "pause", () => this.tell());
    on(video, "playing", () => this.watch());
    this.tell();
    // Who asks for less motion starts the clip himself; a browser may refuse to start it for us.
    if (!matchMedia("(prefers-reduced-motion: reduce)").matches) video.play().catch(() => this.tell());
  }

  run(button) {
    if (!button) return;
    if (button.dataset.do === "pause") this.toggle();
    else if (button.dataset.do === "full") this.full();
    else {
      const slower = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(slower));
      this.video.playbackRate = slower ? SLOWER : 1;
    }
  }

  /** Captions are the sound for who cannot or may not hear it: they go when it comes. */
  speak(on) {
    this.sound = this.querySelector("[data-do=sound]");
    this.words = this.querySelector("[data-do=words]");
    on(this.sound, "click", () => {
      const { video } = this;
      video.muted = !video.muted;
      if (video.muted) return;
      video.currentTime = 0;
      video.play().catch(() => this.tell());
    });
    if (this.words) on(this.words, "click", () => this.caption(this.words.getAttribute("aria-pressed") !== "true"));
    on(this.video, "volumechange", () => this.hear());
    for (const button of [this.sound, this.words]) if (button) button.hidden = false;
    this.hear();
  }

  hear() {
    const loud = String(!this.video.muted && this.video.volume > 0);
    if (this.loud === loud) return;
    this.loud = loud;
    this.sound.setAttribute("aria-pressed", loud);
    this.caption(loud === "false");
  }

  caption(shown) {
    if (!this.words) return;
    this.words.setAttribute("aria-pressed", String(shown));
    this.video.textTracks[0].mode = shown ? "showing" : "hidden";
  }

  toggle() {
    if (this.video.paused) this.video.play().catch(() => this.tell());
    else this.video.pause();
  }

  tell() {
    this.button.textContent = this.video.paused ? this.button.dataset.play : this.button.dataset.pause;
  }

  full() {
    if (document.fullscreenElement) document.exitFullscreen();
    else if (this.video.requestFullscreen) this.video.requestFullscreen();
    else this.video.webkitEnterFullscreen?.();
  }

  /** Counts only while the page is looked at. */
  watch() {
    clearTimeout(this.timer);
    if (!this.address || document.hidden) return;
    this.timer = setTimeout(() => this.seen(), SEEN_AFTER_MS);
  }

  async seen() {
    const address = this.address;
    this.address = null;
    try {
      await send("POST", address);
    } catch {
      // without a connection the mark is set the next time
    }
  }
});
