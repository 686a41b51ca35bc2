/** Where the frame lies inside of a film's box, and layers that lie exactly upon it. */

/** The part of the box that the frame fills, its own shape kept: {left, top, width, height}. */
export function inside(box, frame) {
  const share = Math.min(box.width / frame.width, box.height / frame.height);
  const [width, height] = [frame.width * share, frame.height * share];
  return { left: box.left + (box.width - width) / 2, top: box.top + (box.height - height) / 2, width, height };
}

/** The upright size of what a video or image shows, else `otherwise`. */
export function frameOf(film, otherwise) {
  const [width, height] = [film.videoWidth ?? film.naturalWidth, film.videoHeight ?? film.naturalHeight];
  return width && height ? { width, height } : otherwise;
}

/** Keeps `layer` upon the frame that `film` (video or image) shows, in the same offset parent. */
export function keepOver(layer, film, usual, { signal } = {}) {
  const put = () => {
    const frame = frameOf(film, usual);
    const box = { left: film.offsetLeft, top: film.offsetTop, width: film.offsetWidth, height: film.offsetHeight };
    const place = inside(box, frame);
    for (const name of ["left", "top", "width", "height"]) layer.style[name] = `${place[name]}px`;
  };
  const watch = new ResizeObserver(put);
  watch.observe(film);
  watch.observe(film.parentElement);
  for (const name of ["loadedmetadata", "load"]) film.addEventListener(name, put, { signal });
  signal?.addEventListener("abort", () => watch.disconnect());
  put();
}
