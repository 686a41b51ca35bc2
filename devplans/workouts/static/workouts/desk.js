import { Book, newWorkout } from "./book.js";
import { Sender } from "./sender.js";
import { Shelf } from "./shelf.js";

/** What has to be done first about several workouts; the rest only needs time. */
const URGENT = ["conflict", "refused", "signed-out", "offline", "waiting", "sending", "saved", "nothing"];

/** One player's workout on this phone: counted in its book, kept on its shelf, sent by its sender. */
export class Desk {
  /** player: {id, name, hand}; tell(desk) whenever `state` and `message` changed. */
  constructor({ person, player, url, drills, tell }) {
    Object.assign(this, { player, drills, state: "nothing", message: "" });
    this.shelf = new Shelf(person, player.id);
    this.sender = new Sender({
      url,
      tell: (state, message = "") => {
        Object.assign(this, { state, message });
        tell(this);
      },
      store: (workout) => this.shelf.put(workout),
    });
    this.open(this.shelf.take());
  }

  open(kept) {
    const workout = kept ?? newWorkout(this.player.id);
    this.book = new Book(workout, this.drills, { hand: this.player.hand });
    this.sender.follow(workout);
  }

  get workout() {
    return this.book.workout;
  }

  /** The server has all of it. */
  get isSent() {
    const { changed, acknowledged, revision } = this.workout;
    return !changed && acknowledged === revision;
  }

  get isWorthKeeping() {
    return !this.book.isEmpty || this.workout.revision > 0;
  }

  /** False where the phone keeps nothing. */
  keep() {
    const isOver = this.workout.finished && this.isSent;
    // Where the only set was taken back, that is kept as well.
    if (isOver || !(this.isWorthKeeping || this.shelf.holds)) return true;
    return this.shelf.put(this.workout);
  }

  sendSoon() {
    if (this.isWorthKeeping && this.workout.changed) this.sender.soon(this.workout);
  }

  send() {
    return this.sender.now(this.workout);
  }

  remove() {
    return this.sender.remove(this.workout);
  }

  startOver() {
    this.shelf.clear();
    this.open(null);
    Object.assign(this, { state: "nothing", message: "" });
  }
}

export function mostUrgent(desks) {
  return [...desks].sort((one, other) => URGENT.indexOf(one.state) - URGENT.indexOf(other.state))[0];
}
