/** One take on its way: sound, film and strokes by one clock, kept on this device as they come. */
import { FilmLog, watch } from "./film-log.js";
import { Meter, microphone, Recorder } from "./recorder.js";
import { TalkPen } from "./talk-pen.js";

// A page that did not run for so long was asleep, and so was the microphone.
const ASLEEP_MS = 15_000;
const TICK_MS = 200;
// Whoever goes so far off speaks of something else; what he drew meant the picture before.
const JUMP_MS = 1500;

export class Take {
  /**
   * Resolves to a take that is being recorded; rejects with {why}. tick(ms), level(0..1),
   * silent(is), lost(why), kept() and unkept() (the device has no room) tell of it meanwhile.
   */
  static async begin({ talk, number, player, store, deviceId, isFilmHeard, ...tells }) {
    const stream = await microphone({ deviceId, isFilmHeard });
    const take = new Take({ talk, number, player, store, ...tells });
    try {
      await take.start(stream);
    } catch (error) {
      for (const track of stream.getTracks()) track.stop();
      take.stop.abort();
      await store.forgetTake(talk, number).catch(() => {});
      throw Object.assign(error, { why: error.why ?? "noRecording" });
    }
    return take;
  }

  constructor({ talk, number, player, store, tick, level, silent, lost, kept, unkept }) {
    Object.assign(this, { talk, number, player, store, tick, level, silent, lost, kept, unkept });
    this.log = new FilmLog();
    this.stop = new AbortController();
    this.keeping = Promise.resolve();
  }

  get key() {
    return [this.talk, this.number];
  }

  get startMs() {
    return this.log.entries[0]?.film_ms ?? null;
  }

  async start(stream) {
    const { signal } = this.stop;
    const gone = () => this.lost("taken");
    this.recorder = new Recorder(stream, { piece: (piece) => this.keep(piece), lost: gone });
    const { talk, number } = this;
    await this.store.put("take", {
      talk, number, mime: this.recorder.mime, log: [], version: 0, sentVersion: null, lengthMs: 0, isEnded: false, isDropped: false,
    });
    await this.recorder.start();
    const clock = (at) => this.recorder.ms(at);
    watch(this.player, this.log, { clock, signal, jumped: (ms) => { if (ms > JUMP_MS) this.wipe(); } });
    this.pen = new TalkPen(this.player, { clock, signal, drew: (at, until, shape) => this.log.stroke(at, until, shape) });
    this.meter = new Meter(stream, { show: this.level, silent: this.silent });
    this.tickedAt = performance.now();
    this.timer = setInterval(() => this.second(), TICK_MS);
  }

  second() {
    const now = performance.now();
    if (now - this.tickedAt > ASLEEP_MS) this.lost("slept");
    this.tickedAt = now;
    this.tick(this.recorder.ms());
  }

  /** A piece and the log up to it; in order, one after the other. */
  keep({ number, ms, blob }) {
    const { talk, number: take } = this;
    this.keeping = this.keeping.then(async () => {
      const isKept = await this.store.keepPiece({ talk, take, number, ms, blob });
      if (!isKept) this.unkept();
      await this.note({}).catch(() => this.unkept());
      this.kept();
    });
  }

  note(fields) {
    const { version } = this.log;
    return this.store.change("take", this.key, { log: this.log.written(), version, lengthMs: Math.round(this.recorder.ms()), ...fields });
  }

  undo() {
    this.pen.undo();
    this.log.undo();
  }

  wipe() {
    this.pen.wipe();
    this.log.clear(this.recorder.ms());
  }

  /** Resolves when all of it is kept. */
  async end() {
    this.pen?.finish();
    clearInterval(this.timer);
    await this.recorder.stop();
    this.meter?.stop();
    this.stop.abort();
    await this.keeping;
    this.log.version += 1;
    await this.note({ isEnded: true });
  }
}
