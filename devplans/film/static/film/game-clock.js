/**
 * Film time and game clock, both ways: devplans/film/clock.py says why each bound is as it is.
 * marks: [{filmMs, period, clockS}] by film time; rules: {periods, period_s, overtime_s, names}.
 */
export const WIDE_S = 2;
export const FARTHEST_MS = 2 ** 31 - 1;

export function lengthOf(rules, period) {
  return period <= rules.periods ? rules.period_s : rules.overtime_s;
}

export function nameOf(rules, period) {
  return rules.names[period - 1] ?? `P${period}`;
}

/** Later in the game is greater. */
function order(one, other) {
  return one.period - other.period || other.clockS - one.clockS;
}

function ranMs(earlier, later, rules) {
  if (earlier.period === later.period) return Math.round(1000 * (earlier.clockS - later.clockS));
  let ran = earlier.clockS + Math.max(0, lengthOf(rules, later.period) - later.clockS);
  for (let period = earlier.period + 1; period < later.period; period += 1) ran += lengthOf(rules, period);
  return Math.round(1000 * ran);
}

function bounds(marks, wanted, rules, end, byOrder) {
  let [earliest, latest] = [0, end];
  for (const mark of marks) {
    const ran = (one, other) => (byOrder && one.period !== other.period ? 0 : ranMs(one, other, rules));
    if (order(mark, wanted) < 0) earliest = Math.max(earliest, mark.filmMs + ran(mark, wanted));
    else if (order(mark, wanted) > 0) latest = Math.min(latest, mark.filmMs - ran(wanted, mark));
  }
  const same = marks.filter((mark) => order(mark, wanted) === 0).map((mark) => mark.filmMs);
  return [Math.min(earliest, ...same), Math.max(latest, ...same)];
}

/** [earliest, latest] film time at which the clock of `period` showed `clockS`. */
export function windowOf(marks, period, clockS, rules, endMs = FARTHEST_MS) {
  const wanted = { period, clockS };
  let found = bounds(marks, wanted, rules, endMs, false);
  if (found[0] > found[1]) found = bounds(marks, wanted, rules, endMs, true);
  if (found[0] <= found[1]) return found;
  const before = marks.filter((mark) => order(mark, wanted) < 0).at(-1);
  const after = marks.find((mark) => order(mark, wanted) > 0);
  if (before && after && before.period === after.period) return [found[1], found[0]];
  return [before?.filmMs ?? 0, after?.filmMs ?? endMs];
}

function forward(mark, ms, rules) {
  let [period, clockS] = [mark.period, mark.clockS - ms / 1000];
  while (clockS < 0 && period < rules.periods) {
    period += 1;
    clockS += lengthOf(rules, period);
  }
  return { period, clockS: Math.max(0, clockS) };
}

function back(mark, ms, rules) {
  let [period, clockS] = [mark.period, mark.clockS + ms / 1000];
  while (clockS > lengthOf(rules, period) && period > 1) {
    clockS -= lengthOf(rules, period);
    period -= 1;
  }
  return { period, clockS: Math.min(clockS, lengthOf(rules, period)) };
}

function neighbours(marks, filmMs) {
  let earlier = null;
  for (const mark of marks) {
    if (mark.filmMs === filmMs) return [mark, mark];
    if (mark.filmMs > filmMs) return [earlier, mark];
    earlier = mark;
  }
  return [earlier, null];
}

const least = (places) => places.reduce((one, other) => (order(one, other) <= 0 ? one : other));
const most = (places) => places.reduce((one, other) => (order(one, other) >= 0 ? one : other));

/** {period, highS, lowS, lastPeriod} that the clock can have shown; null without marks. */
export function readingAt(marks, filmMs, rules) {
  const [earlier, later] = neighbours(marks, filmMs);
  if (!earlier && !later) return null;
  const from = [earlier, later && back(later, later.filmMs - filmMs, rules)].filter(Boolean);
  const to = [later, earlier && forward(earlier, filmMs - earlier.filmMs, rules)].filter(Boolean);
  let [first, last] = [most(from), least(to)];
  if (order(last, first) < 0) [first, last] = [least([...from, ...to]), most([...from, ...to])];
  return { period: first.period, highS: first.clockS, lowS: last.clockS, lastPeriod: last.period };
}

function pace(marks) {
  let [ran, passed] = [0, 0];
  marks.slice(1).forEach((mark, index) => {
    const before = marks[index];
    if (mark.period !== before.period) return;
    ran += before.clockS - mark.clockS;
    passed += (mark.filmMs - before.filmMs) / 1000;
  });
  return ran && passed ? Math.min(1, ran / passed) : 1;
}

const within = (value, low, high) => Math.min(Math.max(value, low), high);

/** {period, clockS} that the clock most likely shows; null without marks. */
export function expectedAt(marks, filmMs, rules) {
  const reading = readingAt(marks, filmMs, rules);
  if (!reading) return null;
  const { period, highS, lowS, lastPeriod } = reading;
  const [earlier, later] = neighbours(marks, filmMs);
  if (earlier && later?.period !== earlier.period && earlier.period === period) {
    const guess = earlier.clockS - (pace(marks) * (filmMs - earlier.filmMs)) / 1000;
    return { period, clockS: within(guess, lastPeriod === period ? lowS : 0, highS) };
  }
  if (later && later.period === lastPeriod) {
    let guess = later.clockS + (pace(marks) * (later.filmMs - filmMs)) / 1000;
    if (earlier?.period === later.period && later !== earlier) {
      const share = (filmMs - earlier.filmMs) / (later.filmMs - earlier.filmMs);
      guess = earlier.clockS - (earlier.clockS - later.clockS) * share;
    }
    const high = period === lastPeriod ? highS : lengthOf(rules, lastPeriod);
    return { period: lastPeriod, clockS: within(guess, lowS, high) };
  }
  return { period, clockS: highS };
}

/** Seconds left as a board shows them: "4:31", "0:08.4" in the last minute. */
export function told(clockS) {
  const tenths = Math.floor(clockS * 10 + 1e-6);
  const [minutes, seconds] = [Math.floor(tenths / 600), Math.floor(tenths / 10) % 60];
  const rest = !minutes && tenths % 10 ? `.${tenths % 10}` : "";
  return `${minutes}:${String(seconds).padStart(2, "0")}${rest}`;
}

/** "Q2 4:31"; "~" in front where that is a guess, "Q1–Q2" where it may be either; "" without marks. */
export function labelAt(marks, filmMs, rules) {
  const reading = readingAt(marks, filmMs, rules);
  if (!reading) return "";
  if (reading.period !== reading.lastPeriod) return `${nameOf(rules, reading.period)}–${nameOf(rules, reading.lastPeriod)}`;
  const { clockS } = expectedAt(marks, filmMs, rules);
  const shown = clockS >= 60 ? Math.floor(clockS + 1e-6) : Math.round(clockS * 10) / 10;
  const wide = reading.highS - reading.lowS > WIDE_S;
  return `${wide ? "~" : ""}${nameOf(rules, reading.period)} ${told(shown)}`;
}

/** [{ms, name}] of the last moment at which each marked period may have begun. */
export function periodStarts(marks, rules, endMs) {
  const periods = [...new Set(marks.map((mark) => mark.period))].sort((one, other) => one - other);
  return periods.map((period) => ({ ms: windowOf(marks, period, lengthOf(rules, period), rules, endMs)[1], name: nameOf(rules, period) }));
}

/** "4:10", "0:08.4" or "250" as seconds; null where it is no clock. */
export function readClock(text) {
  const match = /^(?:(\d{1,2})[:.])?(\d{1,4})(?:[.,](\d))?$/.exec(text.trim());
  if (!match || (match[1] !== undefined && (match[2].length !== 2 || Number(match[2]) > 59))) return null;
  return Number(match[1] ?? 0) * 60 + Number(match[2]) + Number(match[3] ?? 0) / 10;
}

/** "50:12", "1:02:03.4" as milliseconds of the film; null where it is no time. */
export function readFilmTime(text) {
  const match = /^(?:(\d{1,2}):)?(\d{1,3}):([0-5]?\d)(?:[.,](\d{1,3}))?$/.exec(text.trim());
  if (!match || (match[1] !== undefined && Number(match[2]) > 59)) return null;
  const seconds = (Number(match[1] ?? 0) * 60 + Number(match[2])) * 60 + Number(match[3]);
  return seconds * 1000 + Number((match[4] ?? "0").padEnd(3, "0"));
}

/** The period that "2", "Q2", "H1", "OT" or "OT2" means; null where it means none. */
function readPeriod(text, rules) {
  const plain = text.toUpperCase().replace(/^(\d)([QHP])$/, "$2$1");
  if (plain === "OT1") return rules.periods + 1;
  const named = rules.names.indexOf(plain);
  if (named >= 0) return named + 1;
  const number = /^[QHP]?(\d{1,2})$/.exec(plain);
  return number ? Number(number[1]) : null;
}

/**
 * What "Q2 4:10", "2 4:10", "OT 1:00", "Q2" (its beginning) or "50:12" (film time) means:
 * {filmMs} or {period, clockS}; null where it means nothing.
 */
export function readPlace(text, rules) {
  const words = text.trim().replace(/^(ot)\s+(\d)(?=\s)/i, "$1$2").split(/\s+/);
  if (words.length === 1) {
    const filmMs = readFilmTime(words[0]);
    if (filmMs !== null) return { filmMs };
    const period = /[a-z]/i.test(words[0]) ? readPeriod(words[0], rules) : null;
    return period ? { period, clockS: lengthOf(rules, period) } : null;
  }
  if (words.length !== 2) return null;
  const [period, clockS] = [readPeriod(words[0], rules), readClock(words[1])];
  return period === null || clockS === null ? null : { period, clockS };
}
