import { readIndex } from "./mp4.js";
import { FrameTimes, LiveTimes } from "./times.js";

const STILL_WIDTH = 960;
// A film that the browser cannot show fires an error, or nothing at all.
const PATIENCE_MS = 15_000;

/** Resolves to {playable, seconds}: does this browser show the file's picture, how long is it? */
function tried(url) {
  return new Promise((resolve) => {
    const video = Object.assign(document.createElement("video"), { preload: "auto", muted: true });
    const end = (playable) => {
      clearTimeout(timer);
      const seconds = video.duration;
      video.removeAttribute("src");
      video.load();
      resolve({ playable, seconds });
    };
    const timer = setTimeout(() => end(false), PATIENCE_MS);
    video.addEventListener("error", () => end(false));
    // Also a film of which only the sound can be played comes this far.
    video.addEventListener("loadeddata", () => end(video.videoWidth > 0));
    video.src = url;
  });
}

/**
 * Files of this device as one film: each begins where the one before ends.
 *
 * The browser counts a file's time from whatever comes first in it, the server from the first
 * picture. So the first picture of each file that comes on screen says what to subtract.
 */
export class Reel {
  /** Resolves to a Reel, or null where the browser cannot show one of the files. */
  static async of(files) {
    const pieces = [];
    let startMs = 0;
    for (const file of files) {
      const url = URL.createObjectURL(file);
      const [index, { playable, seconds }] = await Promise.all([readIndex(file), tried(url)]);
      pieces.push({ url, index, startMs, base: null });
      if (!playable) {
        for (const piece of pieces) URL.revokeObjectURL(piece.url);
        return null;
      }
      startMs += index?.endMs ?? Math.round(seconds * 1000);
    }
    return new Reel(pieces, startMs);
  }

  constructor(pieces, durationMs) {
    this.pieces = pieces;
    this.durationMs = Number.isFinite(durationMs) ? durationMs : null;
    const known = pieces.every(({ index }) => index);
    this.frames = known
      ? FrameTimes.at(pieces.flatMap(({ index, startMs }) => index.times.map((ms) => startMs + ms)))
      : new LiveTimes(this.durationMs);
  }

  attach(video) {
    this.video = video;
    this.open(0);
  }

  open(number) {
    this.now = this.pieces[number];
    this.now.base = null;
    this.video.src = this.now.url;
    this.video.load();
  }

  /** A picture came on screen; true where it is the first one of its file. */
  presented(mediaTime) {
    if (this.now.base !== null) return false;
    this.now.base = mediaTime;
    return true;
  }

  get isOpen() {
    return this.now.base !== null;
  }

  /** Seconds of the film for the video's own. */
  seconds(videoSeconds) {
    return this.now.startMs / 1000 + videoSeconds - (this.now.base ?? 0);
  }

  /** Go to these seconds of the film; false where another file has to be opened first. */
  seek(seconds) {
    const wanted = this.pieces.findLast(({ startMs }) => startMs / 1000 <= seconds) ?? this.pieces[0];
    if (wanted !== this.now) this.open(this.pieces.indexOf(wanted));
    if (!this.isOpen) return false;
    this.video.currentTime = Math.max(0, seconds - wanted.startMs / 1000 + wanted.base);
    return true;
  }

  /** Open the file after this one; false after the last. */
  goOn() {
    const number = this.pieces.indexOf(this.now) + 1;
    if (number >= this.pieces.length) return false;
    this.open(number);
    return true;
  }

  /** What is on screen, as an address for a picture; "" when nothing is. */
  still() {
    const { videoWidth, videoHeight } = this.video;
    if (!videoWidth) return "";
    const canvas = document.createElement("canvas");
    canvas.width = Math.min(STILL_WIDTH, videoWidth);
    canvas.height = Math.round((videoHeight * canvas.width) / videoWidth);
    canvas.getContext("2d").drawImage(this.video, 0, 0, canvas.width, canvas.height);
    return canvas.toDataURL("image/jpeg", 0.85);
  }

  end() {
    for (const { url } of this.pieces) URL.revokeObjectURL(url);
  }
}
