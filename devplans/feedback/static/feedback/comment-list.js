import "./drawing-view.js";
import { labelAt } from "../film/game-clock.js";
import { PossessionList } from "../film/possession-list.js";

/**
 * <comment-list src="…" marks='[{"ms", "verdict", "id"}]'>: draws its comments on the film's line, and
 * takes the film to a comment when its time is pressed; a span is played over and over. Stands in
 * groups, one for each possession, and says what the game clock showed.
 *
 * A comment that is new, changed or gone (film:comments {id}) is fetched alone; without an id, or
 * where the list's parts are other ones then, the whole list is (film:list).
 */
class CommentList extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this, "click", (event) => {
      const time = event.target.closest("[data-ms]");
      if (time) this.go(Number(time.dataset.ms), time.dataset.endMs);
    });
    on(document, "film:possessions", () => this.group());
    on(document, "film:clock", ({ detail }) => this.showClock(detail));
    on(document, "film:possession", ({ detail }) => this.point(detail.id));
    customElements.whenDefined("film-player").then(() => this.tellMarks());
    this.group();
    const game = document.querySelector("film-clock");
    if (game?.marks) this.showClock(game);
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  go(startMs, endMs) {
    if (endMs) this.send("film:loop", { startMs, endMs: Number(endMs) });
    else this.send("film:seek", { ms: startMs });
  }

  send(name, detail) {
    document.dispatchEvent(new CustomEvent(name, { detail }));
  }

  tellMarks() {
    this.send("film:marks", JSON.parse(this.getAttribute("marks") || "[]"));
  }

  rows(place = this) {
    return place.querySelectorAll("ul.rows > li:not(.comment-group)");
  }

  msOf(row) {
    return Number(row.querySelector("[data-ms]").dataset.ms);
  }

  // Groups

  /** Only rows whose heading changes are touched: this runs while possessions are being marked. */
  group() {
    const rows = document.querySelector("film-possessions")?.rows ?? [];
    const list = new PossessionList(rows);
    for (const place of this.querySelectorAll("ul.rows")) {
      let before = null;
      let head = null;
      for (const row of [...place.children]) {
        if (row.classList.contains("comment-group")) {
          head?.remove();
          head = row;
          continue;
        }
        row.ms ??= this.msOf(row);
        const index = list.indexAt(row.ms);
        this.head(row, head, rows.length && index !== before ? this.words(rows[index], index) : "", rows[index]?.id ?? "");
        [before, head] = [index, null];
      }
      head?.remove();
      place.hidden = !place.firstElementChild;
    }
  }

  words(row, index) {
    if (!row) return this.dataset.dead;
    return this.dataset.where.replace("{number}", index + 1).replace("{side}", this.dataset[row.side]);
  }

  /** The heading in front of a row: there with these words, or not there at all. */
  head(row, old, words, id) {
    if (!words) return old?.remove();
    const head = old ?? document.createElement("li");
    if (!old) {
      head.className = "comment-group";
      row.before(head);
    }
    if (head.textContent !== words) head.textContent = words;
    head.possession = id;
  }

  point(id) {
    for (const head of this.getElementsByClassName("comment-group")) head.classList.toggle("now", Boolean(id) && head.possession === id);
  }

  // The game clock

  showClock({ marks, rules }) {
    for (const row of this.rows()) {
      const when = row.querySelector(".when");
      const label = marks.length ? labelAt(marks, this.msOf(row), rules) : "";
      let shown = when.querySelector(".when-clock");
      if (!label && !shown) continue;
      if (!shown) {
        shown = Object.assign(document.createElement("b"), { className: "when-clock" });
        when.prepend(shown, " ");
      }
      if (shown.textContent !== label) shown.textContent = label;
    }
  }

  // One comment at a time

  /** False where the whole list has to come again. */
  async change(id) {
    const answer = await fetch(`${this.getAttribute("src")}?only=${id}`, { headers: { "HX-Request": "true" }, credentials: "same-origin", signal: this.stop.signal }).catch(() => null);
    if (!answer?.ok || answer.redirected) return false;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("comment-list");
    const names = (list) => [...list.querySelectorAll(".comment-part")].map((part) => part.dataset.part).join();
    if (!fresh || names(fresh) !== names(this)) return false;
    this.querySelector(`[id="comment-${id}"]`)?.remove();
    for (const part of fresh.querySelectorAll(".comment-part")) this.changePart(part);
    const bar = fresh.querySelector(":scope > .action-bar");
    if (bar) this.take(bar, this.querySelector(":scope > .action-bar"));
    this.setAttribute("marks", fresh.getAttribute("marks"));
    this.tellMarks();
    this.group();
    const game = document.querySelector("film-clock");
    if (game?.marks) this.showClock(game);
    return true;
  }

  changePart(part) {
    const mine = this.querySelector(`[data-part="${part.dataset.part}"]`);
    for (const name of [".pane-head", ".part-tail"]) {
      const [fresh, old] = [part.querySelector(name), mine.querySelector(name)];
      if (fresh && old) this.take(fresh, old);
      else if (fresh) mine.append(document.adoptNode(fresh));
      else old?.remove();
    }
    for (const row of this.rows(part)) {
      const ms = this.msOf(row);
      mine.querySelector("ul.rows").hidden = false;
      const next = [...this.rows(mine)].find((other) => this.msOf(other) > ms);
      const place = next?.previousElementSibling?.matches(".comment-group") ? next.previousElementSibling : next;
      mine.querySelector("ul.rows").insertBefore(document.adoptNode(row), place ?? null);
      window.htmx?.process(row);
    }
  }

  take(fresh, old) {
    if (fresh.textContent === old.textContent) return;
    old.replaceWith(document.adoptNode(fresh));
    window.htmx?.process(fresh);
  }
}

customElements.define("comment-list", CommentList);

document.addEventListener("film:comments", async ({ detail }) => {
  const list = document.querySelector("comment-list");
  if (detail?.id && list && await list.change(detail.id)) return;
  document.dispatchEvent(new CustomEvent("film:list"));
});
