import { size } from "./amounts.js";
import { sendFilm } from "./sendings.js";
import { visit } from "./visit.js";

const NOBODY = "00000000-0000-0000-0000-000000000000";

/**
 * <film-upload send-to="…" done="…" max-bytes="…" data-…="words">form</film-upload>
 * Begins to send the chosen files as one film and goes to its page, where the rest is told;
 * without scripts the form sends one file by itself.
 */
customElements.define("film-upload", class extends HTMLElement {
  connectedCallback() {
    customElements.upgrade(this);
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.form = this.querySelector("form");
    this.files = [];
    const { elements } = this.form;
    elements.file.multiple = true;
    this.form.addEventListener("submit", (event) => this.submit(event), { signal });
    elements.squad.addEventListener("change", () => this.offerDates(), { signal });
    elements.file.addEventListener("change", () => this.choose([...elements.file.files]), { signal });
    this.querySelector(".film-files ol").addEventListener("click", (event) => this.arrange(event), { signal });
    this.offerDates();
    // A browser may have kept the choice over a reload.
    this.choose([...elements.file.files]);
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  /** Only the dates of the chosen squad can be chosen. */
  offerDates() {
    const { squad, event } = this.form.elements;
    const name = squad.selectedOptions[0]?.textContent.trim();
    for (const group of event.querySelectorAll("optgroup")) {
      group.hidden = group.disabled = group.label !== name;
    }
    if (event.selectedOptions[0]?.closest("optgroup")?.disabled) event.value = "";
  }

  choose(files) {
    // Cameras number the pieces of a long game.
    this.files = files.sort((one, other) => one.name.localeCompare(other.name, undefined, { numeric: true }));
    const { title } = this.form.elements;
    if (!title.value && files.length) title.value = files[0].name.replace(/\.[^.]+$/, "").replace(/[_]+/g, " ").slice(0, 120);
    this.list();
  }

  list() {
    const place = this.querySelector(".film-files");
    place.hidden = this.files.length < 2;
    place.querySelector("ol").replaceChildren(...this.files.map((file, index) => this.row(file, index)));
  }

  row(file, index) {
    const row = document.createElement("li");
    row.className = "row";
    const name = Object.assign(document.createElement("span"), { className: "grow" });
    const faded = Object.assign(document.createElement("span"), { className: "faded small figure", textContent: ` ${size(file.size)}` });
    name.append(`${index + 1}. ${file.name}`, faded);
    const button = (wish, sign, words, disabled) => {
      const made = Object.assign(document.createElement("button"), { type: "button", className: "button small", textContent: sign, disabled });
      made.setAttribute("aria-label", `${words}: ${file.name}`);
      made.title = words;
      Object.assign(made.dataset, { wish, index });
      return made;
    };
    const { earlier, later, leaveOut } = this.dataset;
    row.append(name, button("earlier", "↑", earlier, index === 0), button("later", "↓", later, index === this.files.length - 1), button("out", "×", leaveOut, false));
    return row;
  }

  arrange(event) {
    const button = event.target.closest("[data-wish]");
    if (!button) return;
    const index = Number(button.dataset.index);
    const [file] = this.files.splice(index, 1);
    const target = { earlier: index - 1, later: index + 1 }[button.dataset.wish];
    if (target !== undefined) this.files.splice(target, 0, file);
    this.list();
    if (target === undefined) return;
    const { wish } = button.dataset;
    const rows = this.querySelectorAll(".film-files li");
    const next = rows[target].querySelector(`[data-wish=${wish}]:enabled`) ?? rows[target].querySelector("button:enabled");
    next.focus();
    this.querySelector(".film-files [role=status]").textContent = `${file.name} ${this.dataset.moved} ${target + 1}`;
  }

  submit(event) {
    event.preventDefault();
    this.clear();
    const { noFile, empty, tooBig } = this.dataset;
    const most = Number(this.getAttribute("max-bytes"));
    if (!this.files.length) return this.refuse({ file: [noFile] });
    if (this.files.some((file) => !file.size)) return this.refuse({ file: [empty] });
    if (this.files.some((file) => file.size > most)) return this.refuse({ file: [tooBig] });
    this.begin();
  }

  async begin() {
    const { title, squad, event } = this.form.elements;
    const button = this.form.querySelector("[type=submit]");
    button.disabled = true;
    try {
      const sending = await sendFilm(this.getAttribute("send-to"), this.files, { title: title.value, squad: squad.value, event: event.value });
      await visit(this.getAttribute("done").replace(NOBODY, sending.filmId));
    } catch (error) {
      if (error.name !== "Refused") throw error;
      this.refuse(this.reasons(error));
    } finally {
      button.disabled = false;
    }
  }

  /** {field: ["…"]} for what the server refused. */
  reasons(error) {
    if (error.status === 0) return { file: [this.dataset.noConnection] };
    if (Object.keys(error.fields).length) return error.fields;
    if (error.status === 403) return { file: [this.dataset.signedOut] };
    return { file: [error.status < 500 || error.status === 507 ? error.message : this.dataset.failed] };
  }

  clear() {
    for (const list of this.form.querySelectorAll(".errors")) list.remove();
    for (const field of this.form.querySelectorAll("[aria-invalid]")) {
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
    }
  }

  /** errors: {field: ["…"]}; each beside its field, the first one gets the focus. */
  refuse(errors) {
    this.clear();
    let first = null;
    for (const [name, sentences] of Object.entries(errors)) {
      const control = this.form.elements[name] ?? this.form.elements.file;
      const list = document.createElement("ul");
      list.className = "errors";
      list.id = `${control.id}_errors`;
      list.setAttribute("role", "alert");
      list.append(...[sentences].flat().map((sentence) => Object.assign(document.createElement("li"), { textContent: sentence })));
      control.closest(".field").append(list);
      control.setAttribute("aria-invalid", "true");
      control.setAttribute("aria-describedby", list.id);
      first ??= control;
    }
    first?.focus();
  }
});
