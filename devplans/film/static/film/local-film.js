import "./player.js";
import { Reel } from "./reel.js";
import { changes, goOn, sendingOf } from "./sendings.js";
import { fingerprint } from "./tus.js";
import "./visit.js";
import { duration, size } from "./amounts.js";

/**
 * <local-film film="…" [mine] [uploading]>.sending, .choose-again, film-player</local-film>
 * A film on its way: tells how far it is, goes on with it, and plays its files off this device
 * until the copy is ready; then the copy takes their place and nothing that is typed is lost.
 */
customElements.define("local-film", class extends HTMLElement {
  connectedCallback() {
    // A page that was fetched wakes its elements from the outside in.
    customElements.upgrade(this);
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.film = this.getAttribute("film");
    this.player = this.querySelector("film-player");
    this.originals = JSON.parse(this.querySelector("script[type='application/json']").textContent);
    this.choose = this.querySelector(".choose-again");
    this.panel = this.querySelector(".sending");
    changes.addEventListener("change", () => this.show(), { signal });
    this.addEventListener("click", (event) => this.click(event), { signal });
    this.addEventListener("change", (event) => event.target.name === "again" && this.chosen([...event.target.files]), { signal });
    document.addEventListener("film:ready", ({ detail }) => this.take(detail), { signal });
    this.show();
    if (this.sending) this.play(this.sending.files);
  }

  disconnectedCallback() {
    this.stop.abort();
    this.reel?.end();
  }

  get sending() {
    return sendingOf(this.film);
  }

  click(event) {
    const wish = event.target.closest("[data-send]")?.dataset.send;
    if (wish === "pause") this.sending.pause();
    if (wish === "resume") this.sending.resume();
    if (wish === "cancel" && confirm(this.dataset.warn)) this.cancel();
  }

  async cancel() {
    if (this.sending) await this.sending.cancel();
    else {
      const { remove } = await import("./tus.js");
      for (const { id } of this.originals.toReversed()) await remove(`${this.getAttribute("uploads")}${id}`);
    }
    location.assign(this.getAttribute("list"));
  }

  show() {
    const { sending, dataset: words } = this;
    this.panel.hidden = !sending || sending.state === "done";
    this.choose.hidden = Boolean(sending || this.reel || this.isOver);
    if (!sending) return;
    const heads = { sending: words.sending, waiting: words.waiting, paused: words.paused, refused: words.stopped, done: words.sent };
    const share = sending.total ? sending.there / sending.total : 0;
    const percent = `${Math.floor(100 * share)} %`;
    this.querySelector(".sending-head").textContent = `${heads[sending.state]}: ${percent}`;
    this.panel.querySelector("progress").value = Math.floor(1000 * share);
    this.querySelector(".sending-words").textContent = this.said(sending);
    const trouble = this.querySelector(".sending-trouble");
    const problem = sending.problem === null ? words.noConnection : sending.problem === undefined ? words.fileGone : sending.problem;
    trouble.hidden = !problem;
    trouble.textContent = problem;
    const isHeld = sending.state === "paused" || sending.state === "refused";
    this.panel.querySelector("[data-send=pause]").hidden = isHeld;
    this.panel.querySelector("[data-send=resume]").hidden = !isHeld;
    const tenth = `${sending.state} ${Math.floor(10 * share)}`;
    // Those who hear the page are told each tenth, not each step.
    if (tenth !== this.tenth) this.panel.querySelector("[role=status]").textContent = `${heads[sending.state]}: ${percent}`;
    this.tenth = tenth;
  }

  said(sending) {
    const { of, left } = this.dataset;
    let words = `${size(sending.there)} ${of} ${size(sending.total)}`;
    if (sending.state !== "sending" || !sending.speed) return words;
    words += ` · ${size(sending.speed)}/s`;
    return `${words} · ${duration(sending.secondsLeft)} ${left}`;
  }

  /** The files were chosen again: go on with them where they are to be sent, play them anyway. */
  async chosen(files) {
    this.complain("");
    if (!files.length) return;
    if (this.hasAttribute("mine") && this.hasAttribute("uploading")) {
      const { sending, missing } = await goOn(this.film, this.getAttribute("film-title"), this.originals, files, this.getAttribute("uploads"));
      if (missing) return this.complain(`${this.dataset.other} ${missing.map(({ filename }) => filename).join(", ")}`);
      return this.play(sending.files);
    }
    const ordered = await this.inOrder(files);
    if (!ordered) return this.complain(`${this.dataset.other} ${this.originals.map(({ filename }) => filename).join(", ")}`);
    this.play(ordered);
  }

  /** The files of this film as they follow one another; null where one is missing. */
  async inOrder(files) {
    if (!this.originals.some((one) => one.fingerprint)) return files;
    const prints = await Promise.all(files.map(fingerprint));
    const ordered = this.originals.map((one) => files[prints.indexOf(one.fingerprint)]);
    return ordered.every(Boolean) ? ordered : null;
  }

  complain(words) {
    const place = this.choose.querySelector("[role=alert]");
    place.hidden = !words;
    place.textContent = words;
  }

  async play(files) {
    this.choose.hidden = true;
    const reel = await Reel.of(files);
    if (this.isOver || this.stop.signal.aborted) return reel?.end();
    this.querySelector(".cannot-play").hidden = Boolean(reel);
    this.querySelector(".playing-here").hidden = !reel;
    if (!reel) return;
    this.reel = reel;
    this.player.hidden = false;
    this.player.attach(reel);
    this.show();
  }

  /** The copy is ready. */
  async take(copy) {
    this.isOver = true;
    this.reel = null;
    for (const part of this.querySelectorAll(".sending, .choose-again, .cannot-play, .playing-here")) part.hidden = true;
    this.player.hidden = false;
    await this.player.swap(copy);
    this.toggleAttribute("copied", true);
    document.dispatchEvent(new CustomEvent("film:copy"));
  }
});
