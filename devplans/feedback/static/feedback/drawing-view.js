/**
 * <drawing-view start-ms="…" [end-ms="…"]><svg>…</svg></drawing-view>, hidden beside the film: its
 * drawing appears on the film while the film stands on that very frame, for a second and a half
 * when it plays past it, and all through a span.
 */
import { keepOver } from "./drawing-place.js";

const STAYS_MS = 1500;
const A_FRAME_MS = 50;
const sources = new Set();
let layer = null;

/** A layer on the film's stage; made anew when the page's film is another one. */
function layerOn(player) {
  const video = player.querySelector("video");
  if (layer?.isConnected) return layer;
  layer = document.createElement("div");
  layer.className = "drawing-layer";
  video.after(layer);
  keepOver(layer, video, { width: video.width || 16, height: video.height || 9 });
  for (const name of ["play", "pause", "seeked"]) video.addEventListener(name, () => show());
  return layer;
}

function isOn(source, ms, player) {
  const { startMs, endMs } = source;
  if (startMs === null) return false;
  const frames = player.frames ?? null;
  const isFrame = frames ? frames.indexAt(ms) === frames.indexAt(startMs) : Math.abs(ms - startMs) < A_FRAME_MS;
  if (isFrame) return true;
  if (endMs !== null) return ms >= startMs && ms <= endMs;
  return !player.querySelector("video").paused && ms >= startMs && ms <= startMs + STAYS_MS;
}

export function show() {
  const player = document.querySelector("film-player");
  if (!player?.currentMs) return;
  const ms = player.currentMs();
  const now = [...sources].filter((source) => isOn(source, ms, player));
  const markups = now.map((source) => source.picture());
  const place = layerOn(player);
  if (markups.length === place.children.length && markups.every((one, index) => one === place.children[index].source)) return;
  place.replaceChildren(...markups.map((original) => Object.assign(original.cloneNode(true), { source: original })));
}

/** source: {startMs, endMs, picture() → <svg>}; returns what takes it away again. */
export function showOnFilm(source) {
  sources.add(source);
  show();
  return () => {
    sources.delete(source);
    show();
  };
}

document.addEventListener("film:time", () => show());

customElements.define("drawing-view", class extends HTMLElement {
  connectedCallback() {
    const time = (name) => (this.getAttribute(name) ? Number(this.getAttribute(name)) : null);
    const picture = this.querySelector("svg");
    if (!picture) return;
    this.takeAway = showOnFilm({ startMs: time("start-ms"), endMs: time("end-ms"), picture: () => picture });
  }

  disconnectedCallback() {
    this.takeAway?.();
  }
});
