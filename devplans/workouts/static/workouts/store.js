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

async function opened() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" }).createIndex("person", "person");
  const late = new Promise((_, reject) => { setTimeout(() => reject(new Error("IndexedDB does not open")), PATIENCE_MS); });
  return Promise.race([promised(request), late]);
}

class Kept {
  /** Rows for which the disk had no room (null: that could not be deleted): they last as long as the page. */
  loose = new Map();
  /** What this page last read or wrote. */
  mirror = new Map();

  constructor(db) {
    this.#use(db);
  }

  get isKept() {
    return !this.loose.size;
  }

  async all(person) {
    let rows;
    try {
      rows = await promised((await this.#base()).transaction(STORE).objectStore(STORE).index("person").getAll(person));
      this.mirror = new Map(rows.map((row) => [row.id, row]));
    } catch {
      rows = [...this.mirror.values()];
    }
    const found = new Map(rows.map((row) => [row.id, row]));
    for (const [id, row] of this.loose) found.set(id, row);
    return structuredClone([...found.values()].filter((row) => row?.person === person));
  }

  /**
   * One row through `change(held)`, which gives the row to keep, null for none, undefined to leave
   * it as it is; may be asked twice. Resolves to the row once it is on the disk, or only in memory
   * where the disk does not take it.
   */
  async write(id, change) {
    try {
      const row = await this.#onDisk(id, change);
      this.loose.delete(id);
      if (row) this.mirror.set(id, row);
      else this.mirror.delete(id);
      return structuredClone(row);
    } catch {
      const held = this.#loose(id) ?? structuredClone(this.mirror.get(id)) ?? null;
      const row = change(held);
      if (row === undefined) return held;
      this.loose.set(id, structuredClone(row));
      return row;
    }
  }

  async #onDisk(id, change) {
    const work = (await this.#base()).transaction(STORE, "readwrite", { durability: "strict" });
    const done = over(work);
    const rows = work.objectStore(STORE);
    const held = this.loose.has(id) ? this.#loose(id) : (await promised(rows.get(id))) ?? null;
    const changed = change(structuredClone(held));
    const row = changed === undefined ? held : changed;
    if (row) rows.put(row);
    else rows.delete(id);
    await done;
    return row;
  }

  #loose(id) {
    return structuredClone(this.loose.get(id)) ?? null;
  }

  /** Storage may be emptied while a page is open: what the page knows is put there again. */
  async #base() {
    if (!this.isGone) return this.db;
    this.#use(await opened());
    const work = this.db.transaction(STORE, "readwrite", { durability: "strict" });
    this.mirror.forEach((row) => work.objectStore(STORE).put(row));
    await over(work);
    return this.db;
  }

  #use(db) {
    this.db = db;
    this.isGone = false;
    db.onclose = () => { this.isGone = true; };
    db.onversionchange = () => { this.isGone = true; db.close(); };
  }
}

function over(work) {
  const done = new Promise((resolve, reject) => {
    work.oncomplete = resolve;
    work.onabort = () => reject(work.error ?? new Error("not kept"));
  });
  done.catch(() => {});
  return done;
}

/** As `Kept`, until the page is left. */
class Unkept {
  isKept = false;
  rows = new Map();

  async all(person) {
    return structuredClone([...this.rows.values()].filter((row) => row.person === person));
  }

  async write(id, change) {
    const held = structuredClone(this.rows.get(id)) ?? null;
    const row = change(held);
    if (row) this.rows.set(id, structuredClone(row));
    else if (row === null) this.rows.delete(id);
    return row === undefined ? held : row;
  }
}

export async function openStore() {
  try {
    return new Kept(await opened());
  } catch {
    return new Unkept();
  }
}
