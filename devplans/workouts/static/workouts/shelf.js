import { isWorkout } from "./book.js";

/** The unfinished workout of one person for one player, kept on this phone until the server has it. */
export class Shelf {
  constructor(person, player, storage = window.localStorage) {
    Object.assign(this, { key: `workout:${person}:${player}`, player, storage });
  }

  take() {
    try {
      const found = JSON.parse(this.storage.getItem(this.key));
      return isWorkout(found, this.player) ? found : null;
    } catch {
      return null;
    }
  }

  /** False where the phone keeps nothing: private windows, a full disk. */
  put(workout) {
    try {
      this.storage.setItem(this.key, JSON.stringify(workout));
      return true;
    } catch {
      return false;
    }
  }

  clear() {
    try {
      this.storage.removeItem(this.key);
    } catch {
      // nothing was kept, so nothing is left
    }
  }
}
