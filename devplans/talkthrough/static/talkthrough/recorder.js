/** The microphone, what it records, and how loud it is. Nothing here goes anywhere by itself. */
const PIECE_MS = 2000;
const BITS_PER_SECOND = 32_000;
const LEAVING_MS = 100;
// Some that are switched off give no sound at all, not even silence; then recording never begins.
const DUMB_AFTER_MS = 6000;
const LEAVING_FOR_MS = 5000;
// The first that the browser can write; all of them can be read by the server.
const MIMES = ["audio/webm;codecs=opus", "audio/webm", "audio/mp4;codecs=mp4a.40.2", "audio/mp4", "audio/ogg;codecs=opus"];
const WHY = {
  NotAllowedError: "notAllowed", SecurityError: "notAllowed", NotFoundError: "noMicrophone",
  OverconstrainedError: "noMicrophone", NotReadableError: "busy", AbortError: "busy",
};

export function mimeHere() {
  return MIMES.find((mime) => globalThis.MediaRecorder?.isTypeSupported(mime)) ?? null;
}

/** Why nothing can be recorded here, as the name of a sentence; null where it can. */
export function hindrance() {
  if (!globalThis.isSecureContext) return "notSecure";
  if (!navigator.mediaDevices?.getUserMedia || !mimeHere()) return "noRecorder";
  return null;
}

/** Resolves to the stream of a microphone; rejects with {why}, the name of a sentence. */
export async function microphone({ deviceId = "", isFilmHeard = false } = {}) {
  const audio = {
    channelCount: 1,
    autoGainControl: true,
    // It takes words away with the noise; the film is taken out only where it is heard.
    noiseSuppression: false,
    echoCancellation: isFilmHeard,
  };
  if (deviceId) audio.deviceId = { exact: deviceId };
  try {
    return await navigator.mediaDevices.getUserMedia({ audio, video: false });
  } catch (error) {
    // The one that was chosen may be unplugged by now.
    if (deviceId && error.name === "OverconstrainedError") return microphone({ isFilmHeard });
    throw Object.assign(new Error(error.message), { why: WHY[error.name] ?? "noRecording" });
  }
}

/** [{id, name}] of the microphones; names are told once one of them was allowed. */
export async function microphones() {
  const all = await navigator.mediaDevices?.enumerateDevices?.() ?? [];
  return all.filter(({ kind }) => kind === "audioinput").map(({ deviceId, label }) => ({ id: deviceId, name: label }));
}

export class Recorder {
  /** piece({number, ms, blob}) for each piece; lost() when the microphone is taken away. */
  constructor(stream, { piece, lost }) {
    Object.assign(this, { stream, piece, lost });
    this.mime = mimeHere();
    this.count = 0;
    this.toldMs = 0;
    this.beganAt = null;
    this.endedAt = null;
    this.recorder = new MediaRecorder(stream, { mimeType: this.mime, audioBitsPerSecond: BITS_PER_SECOND });
    this.recorder.addEventListener("dataavailable", ({ data }) => this.take(data));
    this.leaving = () => this.hurry();
    addEventListener("beforeunload", this.leaving);
    for (const track of stream.getAudioTracks()) {
      track.addEventListener("ended", () => this.lost());
      // Another program has it, or the system does: from here on sound and clock would part.
      track.addEventListener("mute", () => this.lost());
    }
  }

  /** Resolves once sound is recorded; from then on `ms()` is the sound's own time. */
  start() {
    return new Promise((resolve, reject) => {
      const timer = setTimeout(() => {
        this.stop();
        reject(Object.assign(new Error(), { why: "dumb" }));
      }, DUMB_AFTER_MS);
      this.recorder.addEventListener("start", () => {
        clearTimeout(timer);
        this.beganAt = performance.now();
        resolve();
      }, { once: true });
      this.recorder.addEventListener("error", ({ error }) => { reject(error); this.lost(); });
      this.recorder.start(PIECE_MS);
    });
  }

  /** Milliseconds of sound until `at`, a time of performance.now(). */
  ms(at = this.endedAt ?? performance.now()) {
    return this.beganAt === null ? 0 : Math.max(0, Math.min(at, this.endedAt ?? at) - this.beganAt);
  }

  take(data) {
    if (!data.size) return;
    const ms = this.ms();
    this.piece({ number: this.count, ms: Math.round(ms - this.toldMs), blob: data });
    this.count += 1;
    this.toldMs = ms;
  }

  /** The page may go at any moment: what was said until now is handed out at once, and so on. */
  hurry() {
    const until = performance.now() + LEAVING_FOR_MS;
    clearInterval(this.hurrying);
    this.hurrying = setInterval(() => {
      if (performance.now() > until || this.recorder.state !== "recording") clearInterval(this.hurrying);
      else this.recorder.requestData();
    }, LEAVING_MS);
    if (this.recorder.state === "recording") this.recorder.requestData();
  }

  /** Resolves when the last piece was handed out. */
  async stop() {
    removeEventListener("beforeunload", this.leaving);
    clearInterval(this.hurrying);
    if (this.recorder.state !== "inactive") {
      const stopped = new Promise((resolve) => { this.recorder.addEventListener("stop", resolve, { once: true }); });
      this.endedAt = performance.now();
      this.recorder.stop();
      await stopped;
    }
    this.endedAt ??= performance.now();
    for (const track of this.stream.getTracks()) track.stop();
  }
}

const HEARD_DB = -50;
const LOWEST_DB = -60;
const SILENT_AFTER_MS = 4000;
const QUIET_AFTER_MS = 20_000;

/** How loud it is, many times a second; show(level 0..1), silent(is) when nothing is heard. */
export class Meter {
  constructor(stream, { show, silent }) {
    Object.assign(this, { show, silent });
    this.context = new AudioContext();
    this.context.resume?.();
    this.analyser = new AnalyserNode(this.context, { fftSize: 2048 });
    this.context.createMediaStreamSource(stream).connect(this.analyser);
    this.samples = new Float32Array(this.analyser.fftSize);
    this.heardAt = performance.now();
    this.isHeard = false;
    this.timer = setInterval(() => this.measure(), 80);
  }

  measure() {
    this.analyser.getFloatTimeDomainData(this.samples);
    let sum = 0;
    for (const sample of this.samples) sum += sample * sample;
    const loud = 10 * Math.log10(sum / this.samples.length + 1e-12);
    this.show(Math.min(1, Math.max(0, (loud - LOWEST_DB) / -LOWEST_DB)));
    const now = performance.now();
    if (loud > HEARD_DB) {
      this.heardAt = now;
      this.isHeard = true;
    }
    this.silent(now - this.heardAt > (this.isHeard ? QUIET_AFTER_MS : SILENT_AFTER_MS));
  }

  stop() {
    clearInterval(this.timer);
    this.context.close();
  }
}
