import { csrfToken } from "../portal/http.js";

const NOBODY = "00000000-0000-0000-0000-000000000000";
const SPEED_OVER_MS = 5000;

function size(bytes) {
  if (bytes >= 1024 ** 3) return `${(bytes / 1024 ** 3).toFixed(1)} GB`;
  return `${(bytes / 1024 ** 2).toFixed(bytes < 10 * 1024 ** 2 ? 1 : 0)} MB`;
}

function duration(seconds) {
  if (seconds < 60) return `${Math.max(1, Math.round(seconds))} s`;
  const minutes = Math.round(seconds / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

/**
 * <film-upload send-to="…" done="…" max-bytes="…" data-…="words">form, .sending</film-upload>
 * Sends the form with progress, speed and a way to stop; without scripts the form sends itself.
 */
customElements.define("film-upload", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.form = this.querySelector("form");
    this.sending = this.querySelector(".sending");
    this.form.addEventListener("submit", (event) => this.submit(event), { signal });
    this.sending.querySelector("button").addEventListener("click", () => this.request?.abort(), { signal });
    this.form.elements.squad.addEventListener("change", () => this.offerDates(), { signal });
    this.form.elements.file.addEventListener("change", () => this.suggestTitle(), { signal });
    addEventListener("beforeunload", (event) => this.request && event.preventDefault(), { signal });
    this.offerDates();
  }

  disconnectedCallback() {
    this.stop.abort();
    this.request?.abort();
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

  suggestTitle() {
    const { file, title } = this.form.elements;
    if (title.value || !file.files.length) return;
    title.value = file.files[0].name.replace(/\.[^.]+$/, "").replace(/[_]+/g, " ").slice(0, 120);
  }

  submit(event) {
    event.preventDefault();
    this.clear();
    const [file] = this.form.elements.file.files;
    if (!file) return this.refuse({ file: [this.dataset.noFile] });
    if (!file.size) return this.refuse({ file: [this.dataset.empty] });
    if (file.size > Number(this.getAttribute("max-bytes"))) return this.refuse({ file: [this.dataset.tooBig] });
    this.send(file);
  }

  send(file) {
    const request = new XMLHttpRequest();
    this.request = request;
    this.samples = [];
    request.open("POST", this.getAttribute("send-to"));
    request.setRequestHeader("X-CSRFToken", csrfToken());
    request.setRequestHeader("Accept", "application/json");
    request.responseType = "json";
    request.upload.addEventListener("progress", (event) => this.progress(event.loaded, event.total));
    request.upload.addEventListener("load", () => this.say(this.dataset.sent));
    request.addEventListener("load", () => this.answered(request));
    request.addEventListener("error", () => this.end({ file: [this.dataset.noConnection] }));
    request.addEventListener("abort", () => this.end({ file: [this.dataset.cancelled] }));
    const body = new FormData(this.form);
    if (!body.get("event")) body.delete("event");
    this.form.hidden = true;
    this.sending.hidden = false;
    const head = this.sending.querySelector("h2");
    head.textContent = `${this.dataset.sending}: ${file.name}`;
    head.focus();
    this.progress(0, file.size);
    request.send(body);
  }

  progress(sent, total) {
    const now = performance.now();
    this.samples.push({ now, sent });
    while (now - this.samples[0].now > SPEED_OVER_MS) this.samples.shift();
    const [first] = this.samples;
    const perSecond = now > first.now ? (1000 * (sent - first.sent)) / (now - first.now) : 0;
    const percent = total ? Math.floor((100 * sent) / total) : 0;
    const { of, left } = this.dataset;
    let words = `${percent} % · ${size(sent)} ${of} ${size(total)}`;
    if (perSecond > 0) words += ` · ${size(perSecond)}/s · ${duration((total - sent) / perSecond)} ${left}`;
    this.sending.querySelector("progress").value = percent;
    this.sending.querySelector(".sending-words").textContent = words;
    // Those who hear the page are told each tenth, not each step.
    if (Math.floor(percent / 10) !== this.tenth) {
      this.tenth = Math.floor(percent / 10);
      this.sending.querySelector("[role=status]").textContent = `${percent} %`;
    }
  }

  say(words) {
    this.sending.querySelector(".sending-words").textContent = words;
    this.sending.querySelector("[role=status]").textContent = words;
    this.sending.querySelector("progress").removeAttribute("value");
  }

  answered(request) {
    if (request.status === 201) {
      this.request = null;
      location.assign(this.getAttribute("done").replace(NOBODY, request.response.id));
      return;
    }
    const answer = request.response;
    if (request.status === 400 && answer && !answer.detail) return this.end(answer);
    if (request.status === 403) return this.end({ file: [this.dataset.signedOut] });
    this.end({ file: [answer?.detail ?? this.dataset.failed] });
  }

  end(errors) {
    this.request = null;
    this.sending.hidden = true;
    this.form.hidden = false;
    this.refuse(errors);
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
