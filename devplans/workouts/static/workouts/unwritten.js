/**
 * The last taps before a page is left: IndexedDB throws away a write that is under way then, while
 * local storage takes one at once. They lie there, by person, until the next page reads them.
 */
const key = (person) => `unwritten:${person}`;

export function leave(person, rows, storage = window.localStorage) {
  try {
    storage.setItem(key(person), JSON.stringify(rows));
  } catch {
    // full or closed storage: nothing else takes a write at once
  }
}

/** What the last page could not write, once. */
export function take(person, storage = window.localStorage) {
  try {
    const rows = JSON.parse(storage.getItem(key(person)) ?? "[]");
    storage.removeItem(key(person));
    return rows.filter((row) => row?.person === person && Array.isArray(row.workout?.sets));
  } catch {
    return [];
  }
}

/** Was it never written? What went to the server before may be gone because all of it is there. */
export function isNews(row, held) {
  return held ? row.version > held.version : row.revision === 0;
}
