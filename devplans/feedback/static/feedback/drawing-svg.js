/**
 * A drawing as SVG, by the rules of devplans/feedback/drawings/svg.py: both give the same text,
 * letter for letter. Nothing here but sums, products and square roots, in the order of there.
 */
const LONG_SIDE = 1000;
const CORES = { chalk: "#FFF3C4", mint: "#C9F7CF", sky: "#CDEBFF", blush: "#FFDCE0" };
const CASING = "#14181F";
const WIDTHS = { solid: 6, dashed: 6, heavy: 10 };
const DASHES = { solid: "", dashed: "14 13", heavy: "" };
const CASED = 4.4;
const HEAD_LENGTH = { solid: 30, dashed: 30, heavy: 40 };
const HEAD_HALF = { solid: 14, dashed: 14, heavy: 19 };
const SHAFT_IN_HEAD = 0.7;
const SMALLEST_RADIUS = 8;
const FILL = 0.3;
const FONT = "Source Sans Pro";
const FONT_WEIGHT = 600;
const TEXT_SIZE = 36;
const LINE_HEIGHT = 42;
const TEXT_CASED = 8;
const LETTER_WIDTH = 0.56;
const FEWEST_LETTERS = 6;
const MARGIN = 8;
const XMLNS = "http://www.w3.org/2000/svg";

export const COLOURS = Object.keys(CORES);
export const STROKES = Object.keys(WIDTHS);

/** The SVG of `shapes` over an upright frame of that shape. */
export function drawn(shapes, { width, height }) {
  const size = frameUnits(width, height);
  const inside = shapes.map((shape) => shapeMarkup(shape, size)).join("");
  return `<svg xmlns="${XMLNS}" viewBox="0 0 ${number(size[0])} ${number(size[1])}">`
    + `<g fill="none" stroke-linecap="round" stroke-linejoin="round">${inside}</g></svg>`;
}

export function frameUnits(width, height) {
  const longer = Math.max(width, height);
  return [LONG_SIDE * width / longer, LONG_SIDE * height / longer];
}

/** At most two decimals, without zeros at the end. */
export function number(value) {
  const hundredths = Math.floor(value * 100 + 0.5);
  const sign = hundredths < 0 ? "-" : "";
  const whole = Math.floor(Math.abs(hundredths) / 100);
  const rest = Math.abs(hundredths) % 100;
  if (!rest) return `${sign}${whole}`;
  return `${sign}${whole}.${Math.floor(rest / 10)}${rest % 10 || ""}`;
}

function shapeMarkup(shape, size) {
  const points = shape.points.map(([x, y]) => [x * size[0], y * size[1]]);
  const { kind } = shape;
  if (kind === "text") return text(shape, points[0], size);
  if (kind === "circle") return cased(shape, ellipse(...points));
  if (kind === "arrow") return arrow(shape, points);
  if (kind === "area") {
    const path = `${straight(points)}Z`;
    return `<path d="${path}" fill="${CORES[shape.colour]}" fill-opacity="${FILL}"/>${cased(shape, `path d="${path}"`)}`;
  }
  return cased(shape, `path d="${kind === "line" ? straight(points) : smooth(points)}"`);
}

function cased(shape, element) {
  return casing(shape, element) + line(shape, element);
}

function casing(shape, element) {
  return `<${element} stroke="${CASING}" stroke-width="${number(WIDTHS[shape.stroke] + CASED)}"/>`;
}

function line({ stroke, colour }, element) {
  const dashes = DASHES[stroke] ? ` stroke-dasharray="${DASHES[stroke]}"` : "";
  return `<${element} stroke="${CORES[colour]}" stroke-width="${number(WIDTHS[stroke])}"${dashes}/>`;
}

function arrow(shape, points) {
  const [[fromX, fromY], [x, y]] = points.slice(-2);
  let [alongX, alongY] = [x - fromX, y - fromY];
  const length = Math.sqrt(alongX * alongX + alongY * alongY);
  [alongX, alongY] = [alongX / length, alongY / length];
  const [long, half] = [HEAD_LENGTH[shape.stroke], HEAD_HALF[shape.stroke]];
  const [baseX, baseY] = [x - alongX * long, y - alongY * long];
  const inside = long * SHAFT_IN_HEAD;
  const shaft = [...points.slice(0, -1), [x - alongX * inside, y - alongY * inside]];
  const head = [
    [x, y],
    [baseX - alongY * half, baseY + alongX * half],
    [baseX + alongY * half, baseY - alongX * half],
  ];
  const path = `path d="${smooth(shaft)}"`;
  const tip = `path d="${straight(head)}Z"`;
  return casing(shape, path)
    + `<${tip} fill="${CASING}" stroke="${CASING}" stroke-width="${number(CASED)}"/>`
    + line(shape, path)
    + `<${tip} fill="${CORES[shape.colour]}"/>`;
}

function ellipse(middle, corner) {
  const across = Math.max(Math.abs(corner[0] - middle[0]), SMALLEST_RADIUS);
  const down = Math.max(Math.abs(corner[1] - middle[1]), SMALLEST_RADIUS);
  return `ellipse cx="${number(middle[0])}" cy="${number(middle[1])}" rx="${number(across)}" ry="${number(down)}"`;
}

function pair(point) {
  return `${number(point[0])} ${number(point[1])}`;
}

function straight(points) {
  return `M${points.map(pair).join("L")}`;
}

function smooth(points) {
  if (points.length === 2) return straight(points);
  let path = `M${pair(points[0])}`;
  const last = points.length - 1;
  for (let index = 0; index < last; index += 1) {
    const [before, here] = [points[Math.max(0, index - 1)], points[index]];
    const [there, after] = [points[index + 1], points[Math.min(last, index + 2)]];
    const first = [here[0] + (there[0] - before[0]) / 6, here[1] + (there[1] - before[1]) / 6];
    const second = [there[0] - (after[0] - here[0]) / 6, there[1] - (after[1] - here[1]) / 6];
    path += `C${pair(first)} ${pair(second)} ${pair(there)}`;
  }
  return path;
}

function text(shape, place, size) {
  const x = Math.min(Math.max(place[0], MARGIN), size[0] - MARGIN);
  const fromLeft = place[0] * 2 <= size[0];
  const room = fromLeft ? size[0] - MARGIN - x : x - MARGIN;
  const most = Math.max(FEWEST_LETTERS, Math.floor(room / (TEXT_SIZE * LETTER_WIDTH)));
  const lines = wrapped(shape.text, most);
  const lowest = size[1] - MARGIN - TEXT_SIZE / 4 - (lines.length - 1) * LINE_HEIGHT;
  const y = Math.max(Math.min(place[1], lowest), TEXT_SIZE);
  return lines.map((words, index) => `<text x="${number(x)}" y="${number(y + index * LINE_HEIGHT)}" text-anchor="${fromLeft ? "start" : "end"}"`
    + ` font-family="${FONT}" font-weight="${FONT_WEIGHT}" font-size="${TEXT_SIZE}"`
    + ` text-rendering="geometricPrecision" fill="${CORES[shape.colour]}" stroke="${CASING}"`
    + ` stroke-width="${TEXT_CASED}" paint-order="stroke">${escaped(words)}</text>`).join("");
}

function escaped(words) {
  return words.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}

/** `words` in lines of at most `most` letters, broken between words where that can be. */
export function wrapped(words, most) {
  const lines = [];
  let current = [];
  for (const word of words.split(" ")) {
    let rest = [...word];
    const longer = current.length ? [...current, " ", ...rest] : rest;
    if (longer.length <= most) {
      current = longer;
      continue;
    }
    if (current.length) lines.push(current);
    while (rest.length > most) {
      lines.push(rest.slice(0, most));
      rest = rest.slice(most);
    }
    current = rest;
  }
  if (current.length) lines.push(current);
  return lines.map((letters) => letters.join(""));
}

/** The <svg> element of that markup. */
export function element(markup) {
  return document.importNode(new DOMParser().parseFromString(markup, "image/svg+xml").documentElement, true);
}
