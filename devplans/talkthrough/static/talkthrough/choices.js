/** Which microphone, and whether the film is heard meanwhile; kept per person on this device. */
import { microphones } from "./recorder.js";

export class Choices {
  /** changed(): another microphone was chosen. */
  constructor(element, { changed, signal }) {
    this.place = `talk:${document.body.dataset.person ?? ""}`;
    this.details = element.querySelector("details.talk-choices");
    this.selects = [...element.querySelectorAll("select[name=microphone]")];
    this.mute = element.querySelector("[name=mute]");
    this.kept = this.read();
    this.mute.checked = this.isMuted;
    element.addEventListener("change", ({ target }) => {
      if (target === this.mute) this.keep({ mute: target.checked });
      if (!this.selects.includes(target)) return;
      this.keep({ microphone: target.value });
      for (const one of this.selects) one.value = target.value;
      if (target.closest("[data-part=silent]")) changed();
    }, { signal });
    navigator.mediaDevices?.addEventListener?.("devicechange", () => this.list(), { signal });
    this.list();
  }

  get isMuted() {
    return this.kept.mute ?? true;
  }

  get deviceId() {
    return this.kept.microphone ?? "";
  }

  read() {
    try {
      return JSON.parse(localStorage.getItem(this.place) ?? "{}") ?? {};
    } catch {
      return {};
    }
  }

  keep(fields) {
    Object.assign(this.kept, fields);
    try {
      localStorage.setItem(this.place, JSON.stringify(this.kept));
    } catch {
      // storage may be closed to us; the choice then lasts as long as the page
    }
  }

  /** Fills the lists; the names are known once a microphone was allowed. */
  async list() {
    const found = (await microphones()).filter(({ id, name }) => id && name);
    for (const select of this.selects) {
      const usual = select.options[0];
      select.replaceChildren(usual, ...found.filter(({ id }) => id !== "default").map(({ id, name }) => new Option(name, id)));
      select.value = found.some(({ id }) => id === this.deviceId) ? this.deviceId : "";
    }
  }
}
