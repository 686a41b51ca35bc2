/** Rows on this phone in IndexedDB, each write on the disk before it counts as done; in memory where there is none. */
const NAME = "portal";
const STORE = "workouts";
const PATIENCE_MS = 4000;

function promised(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function opened() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" }).createIndex("person", "person");
  const late = new Promise((_, reject) => { setTimeout(() => reject(new Error("IndexedDB does not open")), PATIENCE_MS); });
  return Promise.race([promised(request), late]);
}

class Kept {
  isKept = true;

  constructor(db) {
    this.db = db;
  }

  all(person) {
    return promised(this.db.transaction(STORE).objectStore(STORE).index("person").getAll(person));
  }

  /** Runs `change({get, put, remove})` in one transaction; its result, once everything is on the disk. */
  async write(change) {
    const work = this.db.transaction(STORE, "readwrite", { durability: "strict" });
    const done = new Promise((resolve, reject) => {
      work.oncomplete = resolve;
      work.onabort = work.onerror = () => reject(work.error ?? new Error("not kept"));
    });
    const rows = work.objectStore(STORE);
    const result = await change({
      get: (id) => promised(rows.get(id)),
      put: (row) => promised(rows.put(row)),
      remove: (id) => promised(rows.delete(id)),
    });
    await done;
    return result;
  }
}

/** As `Kept`, until the page is left. */
class Unkept {
  isKept = false;
  rows = new Map();

  async all(person) {
    return structuredClone([...this.rows.values()].filter((row) => row.person === person));
  }

  async write(change) {
    return change({
      get: async (id) => structuredClone(this.rows.get(id)),
      put: async (row) => this.rows.set(row.id, structuredClone(row)),
      remove: async (id) => this.rows.delete(id),
    });
  }
}

export async function openStore() {
  try {
    return new Kept(await opened());
  } catch {
    return new Unkept();
  }
}
