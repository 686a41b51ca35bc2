/** What every outbox in the browser goes by. Rows that wait are sent by their page, each app keeps its own. */
const ANSWER_MS = 20_000;
const WAITS_MS = [1000, 3000, 10_000, 30_000];
export const LONGEST_WAIT_MS = WAITS_MS.at(-1);

/** For `send` and `ask`: 401 where somebody else is signed in by now, or nobody; no answer for long is a lost one. */
export function meantFor(person) {
  return { headers: person ? { "X-Person": person } : {}, signal: AbortSignal.timeout?.(ANSWER_MS) };
}

/**
 * What an error says of the row that was on its way:
 * "lost": nobody knows whether it has arrived, so it is sent again;
 * "signed-out": it waits until its person is signed in;
 * "refused": the server has read it, and would say the same again.
 */
export function outcomeOf({ status, isPage }) {
  if (isPage || status === 401 || status === 403) return "signed-out";
  if (!status || status === 408 || status === 429 || status >= 500) return "lost";
  return "refused";
}

/** How long to wait for the next try: longer each time, until something has arrived. */
export class Waits {
  tries = 0;

  next() {
    const ms = WAITS_MS[this.tries] ?? LONGEST_WAIT_MS;
    this.tries += 1;
    return ms;
  }

  over() {
    this.tries = 0;
  }
}

/** run() when the connection or the page comes back: meanwhile somebody may have signed in on another one. */
export function whenBack(run, signal) {
  addEventListener("online", run, { signal });
  document.addEventListener("visibilitychange", () => document.hidden || run(), { signal });
}
