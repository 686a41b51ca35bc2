/** The questions at the end. For several players minutes and kind are asked once, pain of each of them. */
export class Finish {
  constructor(form, words) {
    Object.assign(this, { form, words });
    this.minutes = form.elements.minutes;
  }

  suggest(minutes) {
    if (!this.minutes.value) this.minutes.value = minutes;
  }

  /** Are the minutes fit to be sent? Says so beside them. */
  check(line) {
    const isFit = this.minutes.validity.valid;
    this.minutes.setAttribute("aria-invalid", String(!isFit));
    line.textContent = isFit ? "" : this.words.wrong.minutes;
    if (!isFit) this.minutes.focus();
    return isFit;
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
    const [hurts, where] = this.#painFields(player);
    if (elements.hurts) elements.hurts.value = pain ? "yes" : "no";
    else hurts.checked = Boolean(pain);
    where.value = pain;
    this.#showWhere(where, Boolean(pain));
  }

  /** Something was typed or chosen: the questions that follow from it. */
  changed(target) {
    if (target.name === "hurts") this.#showWhere(this.form.elements.pain, target.value === "yes", true);
    if (target.dataset.hurts) this.#showWhere(this.#painFields(target.dataset.hurts)[1], target.checked, true);
  }

  reset() {
    this.form.reset();
    this.form.querySelectorAll("[data-where]").forEach((one) => { one.hidden = true; });
  }

  #pain(player) {
    const [hurts, where] = this.#painFields(player);
    const doesHurt = this.form.elements.hurts ? this.form.elements.hurts.value === "yes" : hurts.checked;
    return doesHurt ? where.value.trim() || this.words.hurts : "";
  }

  #painFields(player) {
    const { elements } = this.form;
    return elements.hurts ? [null, elements.pain] : [elements[`hurts-${player}`], elements[`pain-${player}`]];
  }

  #showWhere(where, isShown, move = false) {
    where.closest("[data-where]").hidden = !isShown;
    if (isShown && move) where.focus();
  }
}
