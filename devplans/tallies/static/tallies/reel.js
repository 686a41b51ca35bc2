/** Plays the drawn possessions one after the other and leaves out what lies between them. */

const LEAD_MS = 500;
const TRAIL_MS = 1500;
// A film that is playing tells its place at least this often.
const STEP_MS = 1500;

export class Reel {
  /** possessions: by film time, each {place, start_ms, end_ms, seen}; tell(): something changed. */
  constructor(player, possessions, { durationMs, tell }) {
    Object.assign(this, { player, possessions, durationMs, tell });
    this.at = Math.max(0, possessions.findIndex((one) => !one.seen));
    this.from = null;
    this.repeated = new Set();
  }

  get now() {
    return this.possessions[this.at] ?? null;
  }

  get left() {
    return this.possessions.filter((one) => !one.seen).length;
  }

  get seen() {
    return this.possessions.filter((one) => one.seen).map((one) => one.place);
  }

  async go(at, { play = false } = {}) {
    if (at < 0 || at >= this.possessions.length) return;
    this.at = at;
    this.from = null;
    this.moving = true;
    this.tell();
    await this.player.move(Math.max(0, this.now.start_ms - LEAD_MS));
    this.moving = false;
    this.last = this.player.currentMs();
    if (play) this.player.play();
  }

  again() {
    return this.go(this.at, { play: true });
  }

  step(by) {
    const isPlaying = !this.player.video.paused;
    return this.go(this.at + by, { play: isPlaying });
  }

  /** The film shows `ms`: was this possession seen from its start to its end? Then on to the next. */
  time(ms) {
    const { now } = this;
    if (!now || this.moving) return;
    const jumped = this.last === undefined || ms < this.last || ms - this.last > STEP_MS;
    this.last = ms;
    if (jumped) this.from = null;
    if (this.from === null && ms <= now.start_ms + 400) this.from = ms;
    const end = Math.min(now.end_ms, this.durationMs - 200);
    if (this.from !== null && ms >= end && !now.seen) {
      now.seen = true;
      this.tell();
    }
    if (this.player.video.ended || (ms >= now.end_ms + TRAIL_MS && !jumped)) this.over();
  }

  over() {
    if (this.player.video.paused && !this.player.video.ended) return;
    const next = this.#next();
    if (next < 0) this.player.pause();
    else this.go(next, { play: true });
    this.tell();
  }

  /** The next one; after the last one, those of which the film left out a piece, once each. */
  #next() {
    const later = this.possessions.findIndex((one, at) => at > this.at && !one.seen);
    if (later >= 0) return later;
    const missed = this.possessions.findIndex((one) => !one.seen && !this.repeated.has(one.place));
    if (missed >= 0) this.repeated.add(this.possessions[missed].place);
    return missed;
  }
}
