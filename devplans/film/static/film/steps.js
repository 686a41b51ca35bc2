const JUST_BEFORE_S = 0.002;
const STEP_S = 0.006;
const MOST_TRIES = 200;

/** Steps through a film without a table of its frames. One takes a while: quick presses go one behind the other. */
export class Steps {
  constructor(player) {
    this.player = player;
    this.last = null;
  }

  add(count) {
    const own = (this.last ?? Promise.resolve()).then(() => this.#step(count));
    this.last = own;
    own.finally(() => { if (this.last === own) this.last = null; });
  }

  /** Do what means the frame on screen once a step that is under way has come to its frame. */
  after(run) {
    return this.last ? this.last.then(run) : run();
  }

  /** Seek on in small pieces until another picture is on screen. */
  async #step(count) {
    const { player } = this;
    const { video } = player;
    const seeked = () => new Promise((done) => { video.addEventListener("seeked", done, { once: true }); });
    const painted = () => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); });
    if (video.seeking) await seeked();
    await painted();
    const before = player.shown;
    for (let tries = 1; player.shown === before && tries < MOST_TRIES; tries += 1) {
      video.currentTime = Math.max(0, count < 0 ? before - JUST_BEFORE_S * tries : before + STEP_S * tries);
      await seeked();
      await painted();
    }
    player.at(player.frames.indexOf(player.filmSeconds(player.shown)));
  }
}
