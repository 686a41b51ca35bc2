/** The rows of the outbox (see outbox.js) in their states. No page, no network. */
import { toBody } from "./book.js";
import { merged } from "./merge.js";

const MOST_PAGES = 50;

export function fresh(person, workout) {
  const { id, player, revision = 0, acknowledged: known = 0 } = workout;
  return {
    id, person, player, workout, version: 0, dirty: false, revision, acknowledged: known,
    body: null, state: "waiting", status: 0, said: "", dropped: 0,
  };
}

export function isUnsent({ dirty, revision, acknowledged: known, workout, dropped }) {
  const isEmpty = !revision && !toBody(workout).sets.length && !toBody(workout).shots.length;
  return !dropped && !isEmpty && (dirty || known !== revision);
}

/** Changed in two places: nothing of it is sent until somebody has chosen. */
export const isConflict = (row) => row?.state === "look" && row.status === 409;

/** Something is new; of what differs from the server's, more. */
export function changed(row) {
  return isConflict(row) ? { ...row, dirty: true } : { ...row, dirty: true, state: "waiting", said: "" };
}

/**
 * A page's put over the row as it is held; null where that is gone meanwhile. `turn` counts the puts of a page
 * that lives once: what has been laid before changes nothing.
 */
export function laid(held, { person, workout, base, seen, page, turn }) {
  if (!held && base) return null;
  if (held?.pages?.[page] >= turn) return held;
  const now = held && seen ? merged(workout, held.workout, seen) : workout;
  const others = Object.entries(held?.pages ?? {}).filter(([name]) => name !== page).slice(1 - MOST_PAGES);
  const row = {
    ...(held ?? fresh(person, workout)), workout: now, dropped: 0,
    version: Math.max(held?.version ?? 0, base) + 1, pages: Object.fromEntries([...others, [page, turn]]),
  };
  return workout.changed ? changed(row) : row;
}

/** With the next revision where there is something new to say. */
export function stamped(row) {
  if (!row.dirty && row.body) return row;
  const revision = row.dirty ? row.revision + 1 : row.revision;
  const body = toBody({ ...row.workout, revision });
  return { ...row, revision, body, dirty: false, workout: { ...row.workout, revision, changed: false } };
}

/** What is over and whole on the server leaves this phone. */
export function acknowledged(row, revision) {
  const known = Math.max(row.acknowledged, revision);
  if (!row.dirty && row.workout.finished && known === row.revision) return null;
  const workout = { ...row.workout, revision: row.revision, acknowledged: known };
  return { ...row, workout, acknowledged: known, state: "waiting", status: 0, said: "" };
}
