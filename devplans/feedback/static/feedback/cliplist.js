/**
 * <clip-list>: the rows of a clip list. Arrow keys go from row to row, with Alt they move the row;
 * X takes it out, Enter opens its note, Z takes the last change back. The grip drags a row; the two
 * arrow buttons do the same with single presses. Each change is a request that answers with the rows.
 */
import { Keys } from "../portal/keys.js";

let wanted = null;

function openPage() {
  return document.querySelector("clip-list");
}

const keys = new Keys("clip-list")
  .add("take-out", "x", () => openPage()?.current()?.querySelector("[data-remove]")?.click())
  .add("undo", "z", () => openPage()?.querySelector("[data-undo]")?.click());
let listening = false;
let busy = false;

// One change at a time: two answers that overtake each other would show an old list.
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.target?.id !== "cliplist-rows") return;
  if (busy) event.preventDefault();
  else busy = true;
});
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.target?.id === "cliplist-rows") busy = false;
});

customElements.define("clip-list", class extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    if (!listening) {
      listening = true;
      keys.listen();
    }
    this.addEventListener("keydown", (event) => this.key(event), { signal });
    document.addEventListener("keydown", (event) => this.enterList(event), { signal });
    this.addEventListener("pointerdown", (event) => this.grab(event), { signal });
    this.addEventListener("click", (event) => this.click(event), { signal, capture: true });
    for (const grip of this.querySelectorAll("[data-grip]")) grip.hidden = false;
    if (wanted) this.rows().find((row) => row.dataset.key === wanted)?.focus();
    wanted = null;
  }

  disconnectedCallback() {
    this.stop.abort();
  }

  rows() {
    return [...this.querySelectorAll(".cliplist-row")];
  }

  current() {
    return document.activeElement?.closest?.(".cliplist-row");
  }

  /** A button that would go nowhere does nothing; the others remember which row they belong to. */
  click(event) {
    const button = event.target.closest("button[name=by]");
    if (button?.getAttribute("aria-disabled") === "true") event.preventDefault();
    const removing = event.target.closest("[data-remove]");
    if (removing) wanted = this.neighbour(removing.closest(".cliplist-row"));
  }

  /** Where the focus goes when a row leaves. */
  neighbour(row) {
    const other = row.nextElementSibling ?? row.previousElementSibling;
    return other?.dataset.key ?? null;
  }

  /** From outside of the rows, the arrows lead into them. */
  enterList(event) {
    if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey) return;
    if (!["ArrowDown", "ArrowUp"].includes(event.key) || document.activeElement !== document.body) return;
    const rows = this.rows();
    if (!rows.length) return;
    event.preventDefault();
    (event.key === "ArrowDown" ? rows[0] : rows.at(-1)).focus();
  }

  key(event) {
    const row = event.target.closest(".cliplist-row");
    if (!row || event.ctrlKey || event.metaKey) return;
    const typing = event.target.closest("input, textarea, select");
    const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (by && event.altKey) {
      event.preventDefault();
      const rows = this.rows();
      const place = rows.indexOf(row) + by;
      if (place < 0 || place >= rows.length) return;
      const after = by > 0 ? rows[place] : rows[place - 1];
      this.move(row, after);
    } else if (by && !typing) {
      event.preventDefault();
      const rows = this.rows();
      rows[Math.min(rows.length - 1, Math.max(0, rows.indexOf(row) + by))].focus();
    } else if (event.key === "Enter" && event.target === row) {
      event.preventDefault();
      const note = row.querySelector("details");
      note.open = true;
      note.querySelector("textarea").focus();
    } else if (event.key === "Escape" && typing) {
      row.querySelector("details").open = false;
      row.focus();
    }
  }

  /** Puts `row` behind `after`, or first. */
  move(row, after) {
    wanted = row.dataset.key;
    window.htmx.ajax("POST", row.dataset.move, {
      target: "#cliplist-rows", swap: "outerHTML", values: { after: after?.dataset.key ?? "" },
    });
  }

  grab(event) {
    const grip = event.target.closest("[data-grip]");
    if (!grip || event.button) return;
    event.preventDefault();
    const row = grip.closest(".cliplist-row");
    const next = row.nextElementSibling;
    const stop = new AbortController();
    // A row that is put elsewhere loses the pointer that it had captured: the page listens for it.
    const on = (name, run) => document.addEventListener(name, run, { signal: stop.signal });
    row.classList.add("dragged");
    const end = (keep) => {
      stop.abort();
      row.classList.remove("dragged");
      if (!keep) row.parentElement.insertBefore(row, next);
      else if (row.nextElementSibling !== next) this.move(row, row.previousElementSibling);
    };
    on("pointermove", ({ clientY }) => this.follow(row, clientY));
    on("pointerup", () => end(true));
    on("pointercancel", () => end(false));
    on("keydown", (pressed) => {
      if (pressed.key !== "Escape") return;
      pressed.preventDefault();
      end(false);
    });
  }

  /** Puts the dragged row where the pointer is. */
  follow(row, y) {
    const others = this.rows().filter((other) => other !== row);
    const below = others.find((other) => {
      const box = other.getBoundingClientRect();
      return y < box.top + box.height / 2;
    });
    if (below) {
      if (row.nextElementSibling !== below) row.parentElement.insertBefore(row, below);
    } else row.parentElement.append(row);
  }
});
