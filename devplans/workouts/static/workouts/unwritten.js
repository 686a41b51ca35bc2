/**
 * The last taps before a page is left: IndexedDB throws away a write that is under way then, while
 * local storage takes one at once. They lie there, by person and page, until a page has written them.
 */
const place = (person) => `unwritten:${person}:`;

/** What this page has put and not seen on the disk; nothing where all is there. */
export function leave(person, page, puts, storage = window.localStorage) {
  const key = place(person) + page;
  try {
    if (puts.length) storage.setItem(key, JSON.stringify(puts));
    else storage.removeItem(key);
  } catch {
    // full or closed storage: nothing else takes a write at once
  }
}

export const isOf = (person, key) => Boolean(key?.startsWith(place(person)));

/** What pages of this person have left: [{key, text, puts}]. It lies there until `forget`. */
export function left(person, storage = window.localStorage) {
  try {
    const keys = Object.keys(storage).filter((key) => isOf(person, key));
    return keys.map((key) => ({ key, text: storage.getItem(key) })).map((one) => ({ ...one, puts: read(one.text) }));
  } catch {
    return [];
  }
}

/** Where nothing has come to it meanwhile. */
export function forget({ key, text }, storage = window.localStorage) {
  if (storage.getItem(key) === text) storage.removeItem(key);
}

function read(text) {
  try {
    return JSON.parse(text).filter(({ workout, page, turn }) => Array.isArray(workout?.sets) && workout.id && page && turn > 0);
  } catch {
    return [];
  }
}
