import { remember, remembered } from "./habits.js";
import { said } from "./sheet.js";

/** Without a connection a kept page may hold the whole squad: here are those whom its address asks for. */
export function atBasket(log, players) {
  const asked = new Set(new URLSearchParams(location.search).getAll("player"));
  const here = players.filter(({ id }) => asked.has(id));
  if (!here.length || here.length === players.length) return players;
  for (const one of log.querySelectorAll("[data-of]")) if (!asked.has(one.dataset.of)) one.remove();
  log.part("several").hidden = true;
  return here;
}

/** Several players at one basket: whose turn it is, and in which order they were counted. */
export class Turns {
  /** leaving() before somebody chooses another player, turned(desk) when it is somebody else's turn. Works for one player too: then nothing is shown. */
  constructor(root, desks, { leaving, turned, words, signal }) {
    Object.assign(this, { root, desks, leaving, turned, words, desk: desks[0], order: [] });
    if (!root) return;
    this.goesOn = root.querySelector('[name="goes-on"]');
    this.goesOn.checked = remembered("goes-on") === "yes";
    root.addEventListener("change", (event) => this.#changed(event), { signal });
  }

  get isGroup() {
    return this.desks.length > 1;
  }

  /** A change to the book of whoever's turn it is; after a full set it may be the next one's. */
  counted(change) {
    const { desk } = this;
    const { stepped } = desk.book;
    const done = () => desk.book.sets.filter((one) => one.done).length;
    const before = done();
    change(desk.book);
    const isOver = done() > before;
    if (desk.book.stepped > stepped) this.order.push(desk);
    if (isOver && this.goesOn?.checked) this.turn(this.#next());
    return isOver;
  }

  /** Back to whoever was counted last. */
  undo() {
    const last = this.order.pop() ?? this.desk;
    if (last !== this.desk) this.turn(last);
    last.book.undo();
  }

  get canUndo() {
    return (this.order.at(-1) ?? this.desk).book.canUndo;
  }

  turn(desk) {
    const slug = this.desk.workout.drill;
    this.desk = desk;
    if (slug) desk.book.choose(slug);
    this.turned(desk);
  }

  draw() {
    if (!this.root) return;
    for (const desk of this.desks) {
      const box = this.root.querySelector(`[value="${CSS.escape(desk.player.id)}"]`);
      box.checked = desk === this.desk;
      box.closest("label").querySelector(".of").textContent = said(sum(desk.book.sets), this.words) || "–";
    }
  }

  #next() {
    return this.desks[(this.desks.indexOf(this.desk) + 1) % this.desks.length];
  }

  #changed({ target }) {
    if (target === this.goesOn) remember("goes-on", target.checked ? "yes" : "");
    if (target.name !== "turn") return;
    this.leaving();
    this.turn(this.desks.find((desk) => desk.player.id === target.value));
  }
}

function sum(sets) {
  const add = (name) => sets.reduce((total, one) => total + (one[name] ?? 0), 0);
  return { made: add("made"), tried: add("tried"), reps: add("reps"), seconds: add("seconds") };
}
