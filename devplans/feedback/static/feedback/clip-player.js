/**
 * <clip-player [seen="…"]>: plays a clip over and over without sound, slower or on the whole screen
 * if asked. When clip or words have been on screen for two seconds it says so to `seen`.
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
