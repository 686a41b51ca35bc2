const OVER_FOR_MS = 4000;

/** Counts the seconds of one set. draw(seconds) once a second. */
export class Stopwatch {
  constructor(draw) {
    Object.assign(this, { draw, ticking: null });
  }

  get isRunning() {
    return this.ticking !== null;
  }

  start() {
    this.from = Date.now();
    this.draw(0);
    this.ticking = setInterval(() => this.draw(Math.round((Date.now() - this.from) / 1000)), 1000);
  }

  /** Whole seconds, at least one; 0 where it did not run. */
  stop() {
    if (!this.isRunning) return 0;
    clearInterval(this.ticking);
    this.ticking = null;
    return Math.max(1, Math.round((Date.now() - this.from) / 1000));
  }
}

/** The pause between two sets. draw(seconds left; 0 when it is over; null when there is none). */
export class Rest {
  constructor(draw) {
    Object.assign(this, { draw, ticking: null });
  }

  start(seconds) {
    this.stop();
    if (!seconds) return;
    const end = Date.now() + seconds * 1000;
    const tick = () => {
      const left = Math.ceil((end - Date.now()) / 1000);
      this.draw(Math.max(0, left));
      if (left <= 0) this.#over();
    };
    tick();
    this.ticking = setInterval(tick, 1000);
  }

  stop() {
    clearInterval(this.ticking);
    clearTimeout(this.hiding);
    this.draw(null);
  }

  #over() {
    clearInterval(this.ticking);
    navigator.vibrate?.(200);
    this.hiding = setTimeout(() => this.draw(null), OVER_FOR_MS);
  }
}

/** The screen stays on until `stop`, where the phone can do that; it lets go whenever the page is left. */
export class Awake {
  constructor(signal) {
    document.addEventListener("visibilitychange", () => this.#take(), { signal });
    signal.addEventListener("abort", () => this.stop());
  }

  start() {
    this.wanted = true;
    return this.#take();
  }

  stop() {
    this.wanted = false;
    this.lock?.release().catch(() => {});
    this.lock = null;
  }

  async #take() {
    if (!this.wanted || document.visibilityState !== "visible" || !navigator.wakeLock) return;
    if (this.taking || (this.lock && !this.lock.released)) return;
    this.taking = true;
    try {
      this.lock = await navigator.wakeLock.request("screen");
      if (!this.wanted) this.stop();
    } catch {
      // a battery that is low, or no permission: the screen goes dark as ever
    } finally {
      this.taking = false;
    }
  }
}
