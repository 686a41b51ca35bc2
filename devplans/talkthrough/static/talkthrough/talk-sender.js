/**
 * Brings what is kept on this device to the server, in order, again and again until it is there.
 * Each request names what it makes, so it may be sent twice. One tab at a time sends.
 */
import { ask } from "../portal/http.js";
import { meantFor, outcomeOf, Waits, whenBack } from "../portal/sending.js";

const TURN_MS = 3000;
const LOG_EVERY_MS = 6000;

export class Sender {
  /**
   * addresses: {begin(film, talk), take(talk, take), piece(talk, take, piece), recorded(talk),
   * drop(talk)}; changed(state, words): "saved", "sending", "waiting", "signed-out" or "refused".
   */
  constructor(store, { addresses, changed, signal }) {
    Object.assign(this, { store, addresses, changed });
    this.waits = new Waits();
    this.logged = new Map();
    this.signal = signal;
    whenBack(() => this.again(), signal);
    signal.addEventListener("abort", () => clearTimeout(this.timer));
    this.ring();
  }

  /** Now, whatever was waited for: the connection is back, or somebody says so. */
  again() {
    clearTimeout(this.timer);
    this.timer = null;
    this.waits.over();
    this.ring();
  }

  /** Something new is kept. */
  ring() {
    this.isRung = true;
    if (!this.isRunning && !this.timer) this.run();
  }

  async run() {
    this.isRunning = true;
    while (this.isRung && !this.timer && !this.signal.aborted) {
      this.isRung = false;
      const waitMs = await this.turn();
      if (waitMs) this.later(waitMs);
    }
    this.isRunning = false;
  }

  later(ms) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = null;
      this.ring();
    }, ms);
  }

  /** Sends all there is, unless another tab does; resolves to how long to wait for the next try. */
  async turn() {
    const act = async (lock) => {
      if (lock !== null) return this.sendAll();
      this.changed("sending");
      return TURN_MS;
    };
    try {
      if (!navigator.locks) return await act();
      return await navigator.locks.request(`talk-send:${this.store.person}`, { ifAvailable: true }, act);
    } catch (error) {
      return this.failed(error);
    }
  }

  failed(error) {
    if (this.signal.aborted) return 0;
    const states = { "signed-out": "signed-out", refused: "refused", lost: "waiting" };
    const state = states[outcomeOf(error)];
    this.changed(state, state === "refused" || error.status >= 500 ? error.message : "");
    return this.waits.next();
  }

  async sendAll() {
    for (const talk of await this.store.talks()) {
      // What one talk is refused for does not hold the others up.
      try {
        await this.sendTalk(talk);
      } catch (error) {
        if (outcomeOf(error) !== "refused") throw error;
        this.refused = error;
      }
    }
    if (this.refused) {
      const error = this.refused;
      this.refused = null;
      throw error;
    }
    this.waits.over();
    this.changed("saved");
    return 0;
  }

  async sendTalk({ id, film, kind, isBegun, wish }) {
    if (wish === "drop") return this.drop(id, isBegun);
    if (!isBegun) {
      await this.ask("PUT", this.addresses.begin(film, id), { kind, person: this.store.person });
      await this.store.change("talk", id, { isBegun: true });
    }
    const takes = await this.store.takes(id);
    for (const take of takes) await this.sendTake(take);
    if (wish !== "finish" || takes.some((take) => !take.isEnded && !take.isDropped)) return;
    try {
      await this.ask("POST", this.addresses.recorded(id));
    } catch (error) {
      // Nothing was said in it.
      if (error.status !== 400) throw error;
      return this.drop(id, true);
    }
    await this.store.forgetTalk(id);
  }

  async drop(id, isBegun) {
    if (isBegun) await this.ask("POST", this.addresses.drop(id)).catch((error) => { if (error.status !== 404) throw error; });
    await this.store.forgetTalk(id);
  }

  async sendTake({ talk, number, isDropped }) {
    const address = this.addresses.take(talk, number);
    if (isDropped) {
      await this.ask("DELETE", address);
      return this.store.forgetTake(talk, number);
    }
    await this.sendLog(talk, number, { isFirst: true });
    const keys = await this.store.pieceKeys(talk, number);
    for (const key of keys) {
      const piece = await this.store.piece(key);
      if (!piece) continue;
      this.changed("sending");
      await this.ask("PUT", this.addresses.piece(...key), piece.blob);
      await this.store.forgetPiece(key);
      this.changed("sending");
    }
    await this.sendLog(talk, number, {});
  }

  /** The log grows all the time: it goes at the beginning, every few seconds and at the end. */
  async sendLog(talk, number, { isFirst = false }) {
    const take = (await this.store.takes(talk)).find((one) => one.number === number);
    if (!take || take.isDropped) return;
    const key = `${talk}:${number}`;
    const isNew = take.sentVersion === null;
    const isDue = performance.now() - (this.logged.get(key) ?? 0) > LOG_EVERY_MS;
    if (isFirst ? !isNew : take.sentVersion === take.version || !(take.isEnded || isDue)) return;
    const { mime, log, version, lengthMs, isEnded } = take;
    await this.ask("PUT", this.addresses.take(talk, number), { mime, log, length_ms: isEnded && !isFirst ? lengthMs : null });
    this.logged.set(key, performance.now());
    // At the first time it goes without its length: pieces are still to come.
    await this.store.change("take", [talk, number], { sentVersion: isFirst && isEnded ? version - 1 : version });
  }

  ask(method, url, body = null) {
    // A piece of sound may take its time on a slow line.
    return ask(method, url, body, { ...meantFor(this.store.person), signal: this.signal });
  }
}
