import { actButton, Choice } from "./choice.js";

/** The line of the log that says what is saved and what waits, and what can be done about it. */
export class State {
  /** acts: {theirs(desk), renew(desk)}, of the workout that two phones changed. */
  constructor(log, words, acts, signal) {
    Object.assign(this, { log, words });
    this.choice = new Choice(() => this.desk && this.draw(this.desk));
    const run = { ...acts, drop: acts.theirs, mine: (desk) => this.choice.insist(desk.workout.id) };
    log.part("conflict").addEventListener("click", ({ target }) => run[target.closest("[data-act]")?.dataset.act]?.(this.desk), { signal });
  }

  draw(desk) {
    this.desk = desk;
    const { state, message, workout, player } = desk;
    const text = (this.words[state] ?? "").replace("{message}", message).replace("{count}", workout.sets.length);
    const line = this.log.part("state");
    line.textContent = text && player.name ? `${player.name} · ${text}` : text;
    line.dataset.state = state;
    this.log.part("retry").hidden = state !== "offline";
    this.log.part("signed-out").hidden = state !== "signed-out";
    this.log.part("refused").hidden = state !== "refused" || !workout.finished;
    this.log.part("conflict").hidden = state !== "conflict";
    if (state === "conflict") this.#drawChoice(workout);
  }

  /** Drawn anew only where something is to be said: a button keeps its focus. */
  #drawChoice(workout) {
    const { both, acts } = this.choice.of({ id: workout.id, workout });
    const { message, player } = this.desk;
    const said = `${message} ${both || this.choice.words.conflict}`;
    this.log.part("both").textContent = player.name ? `${player.name} · ${said}` : said;
    const told = [workout.id, ...acts].join();
    if (told === this.told) return;
    this.told = told;
    this.log.part("acts").replaceChildren(...acts.map((act) => actButton(act, this.choice.words, workout.id)));
  }
}
