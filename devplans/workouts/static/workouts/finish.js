/**
 * The questions at the end. For several players minutes, effort and kind are asked once, pain of each of them.
 * Whether something hurts is always answered; effort may stay open once its price is said.
 */
export class Finish {
  /** players(): {id, name} of those who are asked. */
  constructor(form, words, players) {
    Object.assign(this, { form, words, players, isTold: false });
    this.minutes = form.elements.minutes;
    this.effortWords = form.querySelector('[data-part="effort-words"]');
    this.scale = this.effortWords.textContent;
  }

  /** Shows the questions about them, and about nobody else of the squad. */
  ask(minutes = "") {
    if (!this.minutes.value) this.minutes.value = minutes;
    const ids = new Set(this.players().map(({ id }) => id));
    for (const row of this.form.querySelectorAll("[data-row-of]")) row.hidden = !ids.has(row.dataset.rowOf);
  }

  /** May it be saved? Else what is missing stands beside each question, and the first of them has the focus. */
  check() {
    const { effort } = this.form.elements;
    const isOpen = effort.value === "";
    const wrong = [
      [this.minutes, this.#say("minutes", this.#wrongMinutes())],
      [effort[0], this.#say("effort", isOpen ? this.words.wrong.effort : "") && !this.isTold],
      [this.#unanswered()[0]?.hurts[0], this.#say("hurts", this.#wrongHurts())],
    ].filter(([, isWrong]) => isWrong);
    this.isTold ||= isOpen;
    wrong[0]?.[0].focus();
    return !wrong.length;
  }

  answers(player) {
    const { minutes, effort, kind, note } = this.form.elements;
    return {
      minutes: minutes.value === "" ? null : Number(minutes.value),
      effort: effort.value === "" ? null : Number(effort.value),
      kind: kind.value,
      pain: this.#pain(player),
      note: note?.value.trim() ?? "",
    };
  }

  /** What was answered once, to be changed; `player` for one of several. */
  fill({ minutes, effort, kind, pain, note }, player) {
    const { elements } = this.form;
    elements.minutes.value = minutes ?? "";
    elements.effort.value = String(effort ?? "");
    elements.kind.value = kind;
    if (elements.note) elements.note.value = note;
    this.isTold = effort === null;
    const [hurts, where] = this.#painFields(player);
    hurts.value = pain ? "yes" : "no";
    where.value = pain;
    this.#showWhere(where, Boolean(pain));
  }

  /** Something was typed or chosen: the questions that follow from it; what is put right is not held against it any more. */
  changed(target) {
    if (target.name === "effort") {
      this.effortWords.textContent = target.dataset.words;
      this.#say("effort", "");
    }
    if (target === this.minutes && this.#line("minutes").textContent) this.#say("minutes", this.#wrongMinutes());
    if (!("hurts" in target.dataset)) return;
    this.#showWhere(this.#painFields(target.dataset.hurts)[1], target.value === "yes", true);
    if (this.#line("hurts").textContent) this.#say("hurts", this.#wrongHurts());
  }

  /** Whoever has no answer yet is not hurt. */
  nobodyElse() {
    this.#unanswered().forEach(({ hurts }) => { hurts.value = "no"; });
    this.#say("hurts", "");
  }

  reset() {
    this.form.reset();
    this.isTold = false;
    this.effortWords.textContent = this.scale;
    ["minutes", "effort", "hurts"].forEach((name) => this.#say(name, ""));
    this.form.querySelectorAll("[data-where]").forEach((one) => { one.hidden = true; });
  }

  #wrongMinutes() {
    return this.minutes.validity.valid ? "" : this.words.wrong.minutes;
  }

  #unanswered() {
    return this.players().map(({ id, name }) => ({ name, hurts: this.#painFields(id)[0] })).filter(({ hurts }) => !hurts.value);
  }

  #wrongHurts() {
    const names = this.#unanswered().map(({ name }) => name);
    if (!names.length) return "";
    return this.form.elements.hurts ? this.words.wrong.hurts : this.words.wrong["hurts-of"].replace("{names}", names.join(", "));
  }

  #line(name) {
    return this.form.querySelector(`[data-part="${name}-wrong"]`);
  }

  /** Is there something to say? A squad's form has no line about effort: each player is asked. */
  #say(name, text) {
    const line = this.#line(name);
    if (!line) return false;
    line.textContent = text;
    if (name === "minutes") this.minutes.setAttribute("aria-invalid", String(Boolean(text)));
    return Boolean(text);
  }

  #pain(player) {
    const [hurts, where] = this.#painFields(player);
    return hurts.value === "yes" ? where.value.trim() || this.words.hurts : "";
  }

  #painFields(player) {
    const { elements } = this.form;
    return elements.hurts ? [elements.hurts, elements.pain] : [elements[`hurts-${player}`], elements[`pain-${player}`]];
  }

  #showWhere(where, isShown, move = false) {
    where.closest("[data-where]").hidden = !isShown;
    if (isShown && move) where.focus();
  }
}
