/**
 * <drawing-board frame-width="…" frame-height="…">: draws on the frame of the comment beside it.
 * The shapes lie in a hidden field of the form, as JSON. Beside a film the sheet lies on the film,
 * elsewhere on the frame's still. All of it works by keys: letters choose a tool, arrow keys move
 * the cursor or what is picked, Enter sets a point, Delete removes, Escape leaves.
 */
import { shortcuts } from "../film/shortcuts.js";
import { frameOf, keepOver } from "./drawing-place.js";
import { Paper } from "./drawing-paper.js";
import { LONGEST_TEXT, point, Sketch } from "./drawing-sketch.js";
import { COLOURS, drawn, element, STROKES } from "./drawing-svg.js";
import { show, showOnFilm } from "./drawing-view.js";

const TOOLS = { a: "arrow", l: "line", c: "circle", r: "area", f: "freehand", t: "text" };
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const STEP = 0.02;
const SMALL_STEP = 0.002;

class DrawingBoard extends HTMLElement {
  connectedCallback() {
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.form = this.closest("form");
    this.field = this.querySelector("[name=drawing]");
    this.tools = this.querySelector(".drawing-tools");
    this.sheet = this.querySelector(".drawing-sheet");
    this.still = this.querySelector(".drawing-still");
    this.line = this.querySelector(".drawing-words-line");
    this.words = this.querySelector("template").dataset;
    const [width, height] = ["frame-width", "frame-height"].map((name) => Number(this.getAttribute(name)));
    // A film that is still on its way has no size yet; then the video itself tells it.
    this.frame = width && height ? { width, height } : frameOf(document.querySelector("film-player video") ?? {}, { width: 16, height: 9 });
    const on = (target, name, run) => target.addEventListener(name, run, { signal });
    on(this.querySelector("[data-do=draw]"), "click", () => this.toggle());
    on(this.tools, "click", (event) => this.click(event));
    on(this.tools, "keydown", (event) => this.toolKey(event));
    on(this.sheet, "keydown", (event) => this.key(event));
    on(this.sheet, "blur", () => { if (this.paper && !this.paper.trail) { this.paper.showsCursor = false; this.paper.draw(); } });
    on(this.line.querySelector("input"), "keydown", (event) => this.wordKey(event));
    shortcuts.add("draw", "x", () => document.querySelector("drawing-board")?.toggle(), { label: this.words.draw });
    this.read();
    if (this.closest("comment-form")?.getAttribute("comment") === "new") this.showUnsaved();
  }

  disconnectedCallback() {
    this.close();
    this.takeAway?.();
    this.stop.abort();
  }

  get shapes() {
    try {
      return JSON.parse(this.field.value) ?? [];
    } catch {
      return [];
    }
  }

  get startMs() {
    return this.form.closest("comment-form")?.startMs ?? null;
  }

  /** Shows what the field holds, after something else has written into it. */
  read() {
    const { shapes } = this;
    this.picture = element(drawn(shapes, this.frame));
    this.form.querySelector("[data-drawn]")?.replaceChildren(...(shapes.length ? [this.picture.cloneNode(true)] : []));
    this.querySelector(".drawing-count").textContent = shapes.length ? this.words.count.replace("%s", String(shapes.length)) : "";
    show();
  }

  /** A comment that is being written has its drawing on the film before it is kept. */
  showUnsaved() {
    const board = this;
    this.takeAway = showOnFilm({
      get startMs() { return board.paper || !board.shapes.length ? null : board.startMs; },
      endMs: null,
      picture: () => board.picture,
    });
  }

  toggle() {
    if (this.paper) this.close();
    else this.open();
  }

  open() {
    const player = document.querySelector("film-player");
    if (player && this.startMs === null) player.comment?.();
    this.sketch = new Sketch(this.shapes, this.frame);
    this.closing = new AbortController();
    this.lay(player);
    this.paper = new Paper(this.sheet, { frame: this.frame, sketch: this.sketch, acts: this.acts(), signal: this.closing.signal });
    this.tools.hidden = this.sheet.hidden = false;
    this.querySelector("[data-do=draw]").setAttribute("aria-expanded", "true");
    this.paper.showsCursor = true;
    this.show();
    this.sheet.focus({ preventScroll: true });
    this.sheet.scrollIntoView({ block: "nearest" });
    this.say(this.words.ready);
  }

  /** Puts the sheet on the film, stopped at the moment, or else on the still. */
  lay(player) {
    const { signal } = this.closing;
    const video = player?.querySelector("video");
    if (!video) {
      this.still.hidden = false;
      const picture = this.still.querySelector("img");
      if (this.startMs !== null) picture.src = `${this.closest("comment-form").getAttribute("still")}?ms=${this.startMs}`;
      this.still.append(this.sheet);
      keepOver(this.sheet, picture, this.frame, { signal });
      this.still.before(this.tools);
      return;
    }
    if (this.startMs !== null) document.dispatchEvent(new CustomEvent("film:seek", { detail: { ms: this.startMs } }));
    player.pause?.();
    player.dataset.drawing = "";
    video.after(this.sheet, this.tools);
    keepOver(this.sheet, video, this.frame, { signal });
  }

  close() {
    if (!this.paper) return;
    this.sketch.finish();
    this.keep();
    this.paper = null;
    this.closing.abort();
    delete document.querySelector("film-player")?.dataset.drawing;
    this.endWords(!this.line.hidden);
    this.tools.hidden = this.sheet.hidden = this.still.hidden = true;
    this.append(this.tools, this.sheet);
    const button = this.querySelector("[data-do=draw]");
    button.setAttribute("aria-expanded", "false");
    this.read();
    // From the drawing on to what is still to be said.
    if (this.isConnected) (this.form.elements.who ?? button).focus();
  }

  acts() {
    return {
      finish: () => this.done(this.sketch.finish()),
      grab: (at, within) => this.grab(at, within),
      moved: () => { this.keep(); this.show(); },
      stroke: (points) => this.done(this.sketch.stroked(points)),
      press: (at) => this.press(at),
    };
  }

  /** A press on what is picked, on one of its points, or with the picking tool, takes hold of it. */
  grab(at, within) {
    const { sketch } = this;
    sketch.moving = false;
    const handle = sketch.shape?.points.findIndex((one) => sketch.isNear(one, at, within)) ?? -1;
    if (handle >= 0) {
      sketch.handle = handle;
      return true;
    }
    if (sketch.tool !== "pick" && sketch.picked === null) return false;
    const found = sketch.at(at, within);
    sketch.pick(found);
    return found !== null;
  }

  press(at) {
    this.paper.cursor = at;
    if (this.sketch.tool === "pick") this.show();
    else this.enter();
  }

  enter() {
    const { sketch, paper } = this;
    if (sketch.shape?.kind === "text" && sketch.handle === null) {
      this.askWords(sketch.shape.text);
      return;
    }
    if (sketch.shape) {
      sketch.pick(null);
      this.show();
      return;
    }
    if (sketch.isFull) this.say(this.words.full);
    else if (sketch.tool === "pick") this.pickNext();
    else if (sketch.tool === "text") this.askWords("");
    else this.done(sketch.tool === "freehand" && sketch.draft ? sketch.finish() : sketch.place(paper.cursor));
  }

  done(isFinished) {
    if (isFinished) this.keep();
    this.show();
    const { draft, tool } = this.sketch;
    this.say(isFinished ? `${this.words[tool]}: ${this.words.placed}` : draft ? `${this.words[tool]}: ${draft.points.length}` : "");
  }

  askWords(words) {
    this.line.hidden = false;
    const input = this.line.querySelector("input");
    input.maxLength = LONGEST_TEXT;
    input.value = words;
    input.focus();
    input.select();
  }

  endWords(areKept) {
    if (areKept) this.takeWords();
    this.line.hidden = true;
  }

  wordKey(event) {
    if (!["Enter", "Escape"].includes(event.key) || event.isComposing) return;
    event.preventDefault();
    event.stopPropagation();
    this.endWords(event.key === "Enter");
    this.sheet.focus({ preventScroll: true });
  }

  takeWords() {
    const { sketch } = this;
    const text = this.line.querySelector("input").value.normalize("NFC").split(/\s+/).filter(Boolean).join(" ");
    if (!text) return;
    if (sketch.shape) sketch.put({ ...sketch.shape, text });
    else sketch.add({ kind: "text", points: [this.paper.cursor], colour: sketch.colour, stroke: sketch.stroke, text });
    this.keep();
    this.show();
    this.say(`${this.words.text}: ${this.words.placed}`);
  }

  /** The sheet's keys while a button of the tools has the focus; Enter and space press that button. */
  toolKey(event) {
    if (event.target.closest("input") || event.key === "Enter" || event.key === " ") return;
    this.key(event);
  }

  key(event) {
    if (event.key === "Tab" || event.altKey || !this.paper) return;
    if (!this.run(event)) return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** True where the key was for the board; letters that mean nothing here mean nothing at all. */
  run(event) {
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (event.ctrlKey || event.metaKey) {
      if (key === "z") this.go(event.shiftKey ? "redo" : "undo");
      else if (key === "y") this.go("redo");
      return key === "z" || key === "y";
    }
    const step = event.shiftKey ? SMALL_STEP : STEP;
    if (ARROWS[key]) this.arrow(ARROWS[key], step);
    else if (key === "Enter" || key === " ") this.enter();
    else if (key === "Delete" || key === "Backspace") this.remove();
    else if (key === "Escape") this.escape();
    else if (TOOLS[key]) this.use(TOOLS[key]);
    else if (key === "s") this.pickNext();
    else if (key === "e") this.nextHandle();
    else if (key === "u" || key === "y") this.go(key === "u" ? "undo" : "redo");
    else if (/^[1-7]$/.test(key)) this.restyle(Number(key) - 1);
    else return key.length === 1 && key !== "?";
    return true;
  }

  arrow([right, down], step) {
    const { sketch, paper } = this;
    const [x, y] = [right * step, (down * step * sketch.size[0]) / sketch.size[1]];
    if (sketch.shape) {
      sketch.move(x, y);
      this.keep();
    } else {
      paper.cursor = point(paper.cursor[0] + x, paper.cursor[1] + y);
      paper.showsCursor = true;
      if (sketch.tool === "freehand" && sketch.draft) sketch.place(paper.cursor);
    }
    this.show();
  }

  use(tool) {
    this.sketch.use(tool);
    this.paper.showsCursor = tool !== "pick";
    this.keep();
    this.show();
    this.say(this.words[tool]);
  }

  pickNext() {
    this.sketch.finish();
    this.sketch.tool = "pick";
    this.sketch.pickNext();
    this.paper.showsCursor = false;
    this.show();
    const { shape, picked } = this.sketch;
    this.say(shape ? `${this.words[shape.kind]}${shape.text ? ` “${shape.text}”` : ""}, ${picked + 1}/${this.sketch.shapes.length}: ${this.words.picked}` : this.words.nothing);
  }

  nextHandle() {
    this.sketch.nextHandle();
    this.show();
    const { handle, shape } = this.sketch;
    if (shape) this.say(handle === null ? this.words.whole : `${this.words.point} ${handle + 1}/${shape.points.length}`);
  }

  restyle(number) {
    const colour = COLOURS[number];
    this.sketch.restyle(colour ? { colour } : { stroke: STROKES[number - COLOURS.length] });
    this.keep();
    this.show();
  }

  go(name) {
    const went = this.sketch[name]();
    this.keep();
    this.show();
    this.say(went ? this.words[name] : "");
  }

  remove() {
    const gone = this.sketch.remove();
    this.keep();
    this.show();
    if (gone) this.say(this.words.removed);
  }

  escape() {
    if (this.sketch.draft) this.sketch.draft = null;
    else if (this.sketch.shape) this.sketch.pick(null);
    else {
      this.close();
      return;
    }
    this.show();
  }

  click(event) {
    const wish = event.target.closest("button")?.dataset;
    if (!wish || !this.paper) return;
    if (wish.draw === "done") {
      this.close();
      return;
    }
    if (wish.tool === "pick") this.pickNext();
    else if (wish.tool) this.use(wish.tool);
    else if (wish.style) this.restyle(Number(wish.style) - 1);
    else if (wish.draw === "words") this.endWords(true);
    else if (wish.draw === "remove") this.remove();
    else this.go(wish.draw);
    this.sheet.focus({ preventScroll: true });
  }

  /** Into the field, so that form, tab and server know it. */
  keep() {
    const kept = JSON.stringify(this.sketch.shapes);
    if (this.field.value === kept) return;
    this.field.value = kept;
    this.field.dispatchEvent(new Event("change", { bubbles: true }));
    this.read();
  }

  show() {
    const { sketch } = this;
    this.paper.draw();
    const now = sketch.shape ?? sketch;
    for (const button of this.tools.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === sketch.tool));
    const styles = [...COLOURS, ...STROKES];
    for (const button of this.tools.querySelectorAll("[data-style]")) {
      const style = styles[Number(button.dataset.style) - 1];
      button.setAttribute("aria-pressed", String(style === now.colour || style === now.stroke));
    }
    this.tools.querySelector("[data-draw=undo]").disabled = !sketch.past.length && !sketch.draft;
    this.tools.querySelector("[data-draw=redo]").disabled = !sketch.future.length;
    this.tools.querySelector("[data-draw=remove]").disabled = !sketch.shape;
  }

  say(words) {
    this.tools.querySelector("[role=status]").textContent = words;
  }
}

customElements.define("drawing-board", DrawingBoard);
