const STEP = 9;
const FIVE = 44;
const HEIGHT = 24;
const MOST = 100;
const SVG = "http://www.w3.org/2000/svg";

/** The line ends of a count in fives, the fifth across the four before it; drawn like the page's own. */
export function lines(count) {
  return Array.from({ length: Math.min(count, MOST) }, (_, index) => {
    const five = Math.floor(index / 5);
    const place = index % 5;
    const left = five * FIVE + 4;
    if (place === 4) return [left - 3, HEIGHT - 6, left + 3 * STEP + 7, 6];
    const foot = left + place * STEP;
    return [foot, HEIGHT - 2 - (place % 2), foot + 2 + (place % 2), 2 + ((place + five) % 2)];
  });
}

/** An SVG of the count, hidden from those who hear the page: the number stands beside it. */
export function strokes(count) {
  const shown = Math.min(count, MOST);
  const rest = shown % 5;
  const width = Math.max(4, Math.floor(shown / 5) * FIVE + (rest ? rest * STEP + 4 : -6));
  const drawing = document.createElementNS(SVG, "svg");
  drawing.setAttribute("class", "strokes");
  drawing.setAttribute("viewBox", `0 0 ${width} ${HEIGHT}`);
  drawing.setAttribute("aria-hidden", "true");
  for (const [x1, y1, x2, y2] of lines(count)) {
    const line = document.createElementNS(SVG, "line");
    Object.entries({ x1, y1, x2, y2 }).forEach(([name, value]) => line.setAttribute(name, value));
    line.setAttribute("stroke", "currentColor");
    line.setAttribute("stroke-width", "2");
    line.setAttribute("stroke-linecap", "round");
    drawing.append(line);
  }
  return drawing;
}
