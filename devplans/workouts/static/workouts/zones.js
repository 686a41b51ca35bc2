/** Where a shot was taken, as the server tells it (devplans/stats/court.py): the same rules, for the page. */

/** lines: of one rule set, in millimetres, with `arc_break` and `middle` (degrees).
 *  Resolves a place to {name, points}; points is null outside the lines. */
export function zoneOf(x, y, lines) {
  if (Math.abs(2 * x) > lines.width || y < -lines.baseline || y > lines.length - lines.baseline) {
    return { name: "out", points: null };
  }
  if (y > lines.half_length - lines.baseline) return { name: "backcourt", points: 3 };
  if (isThree(x, y, lines)) {
    if (y <= lines.arc_break) return { name: `corner-${side(x)}`, points: 3 };
    const way = direction(x, y, lines.middle);
    return { name: way === "middle" ? "top" : `wing-${side(x)}`, points: 3 };
  }
  if (isRestricted(x, y, lines)) return { name: "restricted", points: 2 };
  const inKey = Math.abs(2 * x) <= lines.key_width && y <= lines.free_throw;
  return { name: inKey ? "key" : `mid-${direction(x, y, lines.middle)}`, points: 2 };
}

function isThree(x, y, { arc, arc_break: straight, corner }) {
  return y <= straight ? Math.abs(x) > corner : x * x + y * y > arc ** 2;
}

function isRestricted(x, y, { no_charge: radius, board }) {
  if (radius === null) return false;
  return (Math.abs(x) <= radius && y >= -board && y <= 0) || x * x + y * y <= radius ** 2;
}

function side(x) {
  return x > 0 ? "right" : "left";
}

function direction(x, y, middle) {
  return Math.abs(Math.atan2(x, y) * (180 / Math.PI)) <= middle ? "middle" : side(x);
}
