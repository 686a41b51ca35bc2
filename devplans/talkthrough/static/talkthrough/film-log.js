/**
 * What the film does while somebody talks, in the time of the sound: the list that
 * devplans/feedback/voices/log.py reads. `at` counts whole milliseconds from the take's beginning.
 */
const OFF_MS = 90;
const FAR_OFF_MS = 600;
const MANY = 15_000;

export class FilmLog {
  constructor() {
    this.entries = [];
    this.version = 0;
    this.drawn = [];
  }

  get now() {
    return this.entries.at(-1) ?? null;
  }

  /** Where the film should be at that time of the sound, by what was noted last. */
  expected(at) {
    const { now } = this;
    return now ? now.film_ms + (at - now.at) * now.rate : null;
  }

  /** The film is at `filmMs` and runs at `rate` (0: it stands); noted where that is news. */
  observe(at, filmMs, rate, { slack = 1 } = {}) {
    const entry = { at: Math.max(0, Math.round(at)), film_ms: Math.max(0, Math.round(filmMs)), rate };
    const { now } = this;
    if (now) {
      entry.at = Math.max(entry.at, now.at);
      const limit = this.entries.length > MANY ? FAR_OFF_MS : slack;
      if (now.rate === rate && Math.abs(this.expected(entry.at) - entry.film_ms) <= limit) return false;
      if (now.at === entry.at) this.entries.pop();
    }
    this.entries.push(entry);
    this.version += 1;
    return true;
  }

  /** A picture came on screen while the film plays; pictures never come quite on time. */
  see(at, filmMs, rate) {
    return this.observe(at, filmMs, rate, { slack: OFF_MS });
  }

  stroke(at, until, shape) {
    this.drawn.push({ at: Math.max(0, Math.round(at)), until: Math.max(0, Math.round(until)), shape });
    this.version += 1;
  }

  /** The last stroke that is still there never was. */
  undo() {
    const index = this.drawn.findLastIndex((one) => one.shape);
    if (index < 0 || this.drawn.slice(index).some((one) => one.clear)) return;
    this.drawn.splice(index, 1);
    this.version += 1;
  }

  clear(at) {
    if (!this.drawn.length || this.drawn.at(-1).clear) return;
    this.drawn.push({ at: Math.max(0, Math.round(at)), clear: true });
    this.version += 1;
  }

  /** In the order of time. */
  written() {
    return [...this.entries, ...this.drawn].sort((one, other) => one.at - other.at);
  }
}

/** Tells `log` what <film-player> does until the signal aborts; clock() is the sound's time, ms. */
export function watch(player, log, { clock, jumped, signal }) {
  const { video } = player;
  const on = (name, run) => video.addEventListener(name, run, { signal });
  const rate = () => (video.paused || video.ended || video.seeking || isStuck ? 0 : video.playbackRate);
  const place = () => (video.paused || !player.frames ? player.currentMs() : player.filmSeconds(video.currentTime) * 1000);
  let isStuck = false;
  const note = () => log.observe(clock(), place(), rate());
  const stuck = (is) => () => { isStuck = is; note(); };
  note();
  for (const name of ["play", "pause", "ratechange", "ended", "seeked"]) on(name, note);
  on("seeking", () => {
    const before = log.expected(clock());
    note();
    jumped?.(Math.abs(place() - before));
  });
  on("waiting", stuck(true));
  on("playing", stuck(false));
  const frame = (shownAt, { mediaTime, expectedDisplayTime }) => {
    if (signal.aborted) return;
    const filmMs = player.filmSeconds(mediaTime) * 1000;
    if (!video.paused && !video.seeking) {
      isStuck = false;
      log.see(clock(expectedDisplayTime || shownAt), filmMs, rate());
    }
    video.requestVideoFrameCallback(frame);
  };
  if (video.requestVideoFrameCallback) video.requestVideoFrameCallback(frame);
  else on("timeupdate", () => log.see(clock(), place(), rate()));
}
