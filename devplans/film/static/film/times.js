/** "12:04.3": minutes, seconds, tenths; hours in front where there are any. Never ahead of `ms`. */
export function clock(ms) {
  const tenths = Math.floor(ms / 100);
  const seconds = Math.floor(tenths / 10);
  const pad = (number) => String(number).padStart(2, "0");
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  const front = hours ? `${hours}:${pad(minutes)}` : String(minutes);
  return `${front}:${pad(seconds % 60)}.${tenths % 10}`;
}

// A browser cuts times to millionths of a second; a frame's own time may lie that much, and up to
// a whole millisecond, under the rounded one.
const BELOW_MS = 1.01;

/** When each frame of a film begins: whole milliseconds from the first frame, rounded up. */
export class FrameTimes {
  /** steps: milliseconds from each frame to the next. */
  constructor(steps) {
    this.times = new Float64Array(steps.length + 1);
    steps.forEach((step, index) => {
      this.times[index + 1] = this.times[index] + step;
    });
  }

  /** times: when each frame begins, rounded up. */
  static at(times) {
    const made = new FrameTimes([]);
    made.times = Float64Array.from(times);
    return made;
  }

  get last() {
    return this.times.length - 1;
  }

  /** When the frame begins. */
  ms(index) {
    return this.times[index];
  }

  /** The frame on screen at `ms`: the last one that has begun. */
  indexAt(ms) {
    let [low, high] = [0, this.last];
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (this.times[middle] <= ms) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** The frame whose own time the browser tells, in seconds. */
  indexOf(mediaTime) {
    return this.indexAt(mediaTime * 1000 + BELOW_MS);
  }

  within(index) {
    return Math.min(this.last, Math.max(0, index));
  }

  /** Seconds to seek to, well inside a frame: on its edge a browser may show the one before. */
  middle(index) {
    const begin = this.times[index];
    const next = index < this.last ? this.times[index + 1] : begin + 2;
    return (begin + next) / 2000;
  }
}

// The browser cuts times to millionths; rounded up over that, a time never falls before its frame.
const CUT_MS = 0.0009;

/** Where nobody wrote down when each frame begins: every millisecond counts as one. */
export class LiveTimes {
  isLive = true;

  constructor(durationMs) {
    this.last = durationMs ?? Number.MAX_SAFE_INTEGER;
  }

  ms(index) {
    return index;
  }

  indexAt(ms) {
    return this.within(Math.round(ms));
  }

  indexOf(mediaTime) {
    return this.within(Math.ceil(mediaTime * 1000 + CUT_MS));
  }

  within(index) {
    return Math.min(this.last, Math.max(0, index));
  }

  middle(index) {
    return (index + 0.5) / 1000;
  }
}
