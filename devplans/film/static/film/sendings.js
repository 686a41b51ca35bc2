import { begin, fingerprint, remove, send } from "./tus.js";

/**
 * The films that this page sends, one after the other. They live as long as the page does: going
 * to another view by `visit` keeps them, and with them the files that can be played meanwhile.
 */
const SPEED_OVER_MS = 8000;
const sendings = new Map();
export const changes = new EventTarget();
let active = null;

function tell() {
  changes.dispatchEvent(new Event("change"));
}

/** A film on its way: `state` is waiting, sending, paused, done or refused; `problem` says why. */
class Sending {
  constructor(filmId, title) {
    this.filmId = filmId;
    this.title = title;
    this.parts = [];
    this.state = "waiting";
    this.problem = "";
    this.field = null;
    this.samples = [];
  }

  add(url, file) {
    this.parts.push({ url, file, there: 0 });
  }

  get files() {
    return this.parts.map((part) => part.file);
  }

  get total() {
    return this.parts.reduce((sum, part) => sum + part.file.size, 0);
  }

  get there() {
    return this.parts.reduce((sum, part) => sum + part.there, 0);
  }

  /** Bytes in a second, over the last few; 0 when unknown. */
  get speed() {
    const [first, last] = [this.samples[0], this.samples.at(-1)];
    if (!first || last.at - first.at < 500) return 0;
    return Math.max(0, (1000 * (last.there - first.there)) / (last.at - first.at));
  }

  get secondsLeft() {
    return this.speed ? (this.total - this.there) / this.speed : null;
  }

  sample() {
    const at = performance.now();
    this.samples.push({ at, there: this.there });
    while (at - this.samples[0].at > SPEED_OVER_MS) this.samples.shift();
    tell();
  }

  async run() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.state = "sending";
    this.problem = "";
    this.samples = [];
    tell();
    try {
      for (const part of this.parts) {
        await send(part.url, part.file, {
          signal,
          progress: (there) => { part.there = there; this.sample(); },
          trouble: (words) => { this.problem = words; this.samples = []; tell(); },
        });
      }
      this.state = "done";
    } catch (error) {
      this.state = error.name === "AbortError" ? "paused" : "refused";
      this.problem = error.name === "AbortError" ? "" : error.name === "FileGone" ? undefined : error.message;
    }
    tell();
  }

  pause() {
    if (this.state === "waiting") this.state = "paused";
    this.stop?.abort();
    tell();
  }

  resume() {
    if (this.state === "paused" || this.state === "refused") this.state = "waiting";
    next();
  }

  async cancel() {
    this.pause();
    sendings.delete(this.filmId);
    for (const part of this.parts) await remove(part.url);
    tell();
  }
}

async function next() {
  tell();
  if (active) return;
  active = [...sendings.values()].find((one) => one.state === "waiting") ?? null;
  if (!active) return;
  await active.run();
  active = null;
  next();
}

export function sendingOf(filmId) {
  return sendings.get(filmId) ?? null;
}

export function all() {
  return [...sendings.values()];
}

/** Begin a film made of `files`, in this order, and send it. Resolves to its Sending; rejects with Refused. */
export async function sendFilm(url, files, { title, squad, event }) {
  const prints = await Promise.all(files.map(fingerprint));
  const words = { filename: files[0].name, title, squad, files: files.length, fingerprint: prints[0], ...(event ? { event } : {}) };
  const place = await begin(url, files[0], words);
  const filmId = place.replace(/\/$/, "").split("/").at(-1);
  const sending = new Sending(filmId, title);
  sending.add(place, files[0]);
  try {
    for (const [position, file] of files.entries()) {
      if (position) sending.add(await begin(url, file, { film: filmId, position, filename: file.name, fingerprint: prints[position] }), file);
    }
  } catch (error) {
    for (const part of sending.parts.toReversed()) await remove(part.url).catch(() => {});
    throw error;
  }
  sendings.set(filmId, sending);
  next();
  return sending;
}

/**
 * Go on with a film whose upload was left. uploads: what the server knows, in their order;
 * files: those chosen again, in any order. Resolves to {sending} or {missing: [uploads], strange: [files]}.
 */
export async function goOn(filmId, title, uploads, files, root) {
  const prints = await Promise.all(files.map(fingerprint));
  const found = uploads.map((upload) => files[prints.indexOf(upload.fingerprint)] ?? null);
  const missing = uploads.filter((_, index) => !found[index]);
  const strange = files.filter((file) => !found.includes(file));
  if (missing.length) return { missing, strange };
  const sending = new Sending(filmId, title);
  uploads.forEach((upload, index) => sending.add(`${root}${upload.id}`, found[index]));
  sendings.set(filmId, sending);
  next();
  return { sending };
}

addEventListener("beforeunload", (event) => {
  if (all().some((one) => one.state === "sending" || one.state === "waiting")) event.preventDefault();
});
