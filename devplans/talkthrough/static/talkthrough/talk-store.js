/**
 * What was said and is not on the server yet, kept in IndexedDB over a reload or a crash, for one
 * person: another one on the same machine neither sees nor sends it.
 *
 *   talk   {id, person, film, kind, at, next, isBegun, wish}   wish: null, "finish" or "drop"
 *   take   {talk, number, person, mime, log, version, sentVersion, lengthMs, isEnded, isDropped}
 *   piece  {talk, take, number, person, ms, blob}              deleted once the server has it
 */
const NAME = "talks";
const VERSION = 1;

function done(request) {
  return new Promise((resolve, reject) => {
    request.addEventListener("success", () => resolve(request.result));
    request.addEventListener("error", () => reject(request.error));
  });
}

function over(transaction) {
  return new Promise((resolve, reject) => {
    transaction.addEventListener("complete", () => resolve());
    transaction.addEventListener("abort", () => reject(transaction.error));
    transaction.addEventListener("error", () => reject(transaction.error));
  });
}

function open() {
  const request = indexedDB.open(NAME, VERSION);
  request.addEventListener("upgradeneeded", () => {
    const base = request.result;
    base.createObjectStore("talk", { keyPath: "id" });
    base.createObjectStore("take", { keyPath: ["talk", "number"] });
    base.createObjectStore("piece", { keyPath: ["talk", "take", "number"] });
  });
  return done(request);
}

/** All keys that begin with these parts. */
function within(...parts) {
  return IDBKeyRange.bound(parts, [...parts, []]);
}

function keyOf({ talk, take, number }) {
  return [talk, take, number];
}

function isKey(row, key) {
  return keyOf(row).every((part, index) => part === key[index]);
}

export class Store {
  constructor(person) {
    this.person = person;
    this.base = open();
    // Pieces for which the device had no room: they last as long as the page.
    this.loose = [];
  }

  async write(names, act) {
    const base = await this.base;
    // "strict": on the disk before anything goes on, also where the machine dies.
    const transaction = base.transaction(names, "readwrite", { durability: "strict" });
    act((name) => transaction.objectStore(name));
    await over(transaction);
  }

  async read(name, range) {
    const base = await this.base;
    const rows = await done(base.transaction(name).objectStore(name).getAll(range));
    return rows.filter((row) => row.person === this.person);
  }

  put(name, row) {
    return this.write([name], (store) => store(name).put({ ...row, person: this.person }));
  }

  /** Changes a row that is there; one that is gone stays gone. */
  async change(name, key, fields) {
    const base = await this.base;
    const transaction = base.transaction([name], "readwrite", { durability: "strict" });
    const store = transaction.objectStore(name);
    const row = await done(store.get(key));
    if (row) store.put({ ...row, ...fields });
    await over(transaction);
    return row ? { ...row, ...fields } : null;
  }

  /** This person's talks, the oldest first. */
  async talks() {
    return (await this.read("talk")).sort((one, other) => one.at - other.at);
  }

  takes(talk) {
    return this.read("take", within(talk));
  }

  /** Keeps a piece; false where the device has no room and only this page holds it. */
  async keepPiece(row) {
    try {
      await this.put("piece", row);
      return true;
    } catch {
      this.loose.push(row);
      return false;
    }
  }

  /** Keys of a take's pieces in order, without the sound. */
  async pieceKeys(talk, take) {
    const base = await this.base;
    const keys = await done(base.transaction("piece").objectStore("piece").getAllKeys(within(talk, take)));
    for (const row of this.loose) if (row.talk === talk && row.take === take) keys.push(keyOf(row));
    return keys.sort((one, other) => one[2] - other[2]);
  }

  async piece(key) {
    const loose = this.loose.find((row) => isKey(row, key));
    if (loose) return loose;
    const base = await this.base;
    return done(base.transaction("piece").objectStore("piece").get(key));
  }

  forgetPiece(key) {
    this.loose = this.loose.filter((row) => !isKey(row, key));
    return this.write(["piece"], (store) => store("piece").delete(key));
  }

  /** How much of what this person said is not on the server, in milliseconds. */
  async unsentMs() {
    const rows = [...await this.read("piece"), ...this.loose];
    return rows.reduce((sum, { ms }) => sum + ms, 0);
  }

  forgetTake(talk, take) {
    this.loose = this.loose.filter((row) => row.talk !== talk || row.take !== take);
    return this.write(["take", "piece"], (store) => {
      store("take").delete([talk, take]);
      store("piece").delete(within(talk, take));
    });
  }

  forgetTalk(talk) {
    this.loose = this.loose.filter((row) => row.talk !== talk);
    return this.write(["talk", "take", "piece"], (store) => {
      store("talk").delete(talk);
      store("take").delete(within(talk));
      store("piece").delete(within(talk));
    });
  }
}
