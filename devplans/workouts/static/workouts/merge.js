/** Two pages of one phone that changed the same workout: what both did, and no tap twice. No page, no network. */
const COUNTS = ["made", "tried", "reps", "seconds"];
/** Where a page stands is its own; these belong to the workout. */
const FACTS = ["started_at", "minutes", "effort", "kind", "finished"];
const WORDS = ["pain", "note"];

/** `mine` and `theirs`, which were both made of `seen`: what was counted since then is added up. */
export function merged(mine, theirs, seen) {
  const both = { ...mine, changed: mine.changed || theirs.changed };
  for (const name of FACTS) both[name] = chosen(mine[name], theirs[name], seen[name]);
  for (const name of WORDS) both[name] = said(mine[name], theirs[name], seen[name]);
  if (Date.parse(theirs.touched_at) > Date.parse(mine.touched_at)) both.touched_at = theirs.touched_at;
  const shots = mergedShots(mine.shots ?? [], theirs.shots ?? [], seen.shots ?? []);
  return fitted({ ...both, sets: mergedSets(mine.sets, theirs.sets, seen.sets), shots });
}

/** Only what was counted since `seen`. */
export function since(mine, seen) {
  return merged(mine, { ...mine, sets: [], shots: [] }, seen);
}

const chosen = (mine, theirs, seen) => (mine === seen ? theirs : mine);

/** Words of both pages, one below the other. */
function said(mine, theirs, seen) {
  if (mine === seen || theirs.includes(mine)) return theirs;
  return theirs === seen || mine.includes(theirs) ? mine : `${theirs}\n${mine}`;
}

const byKey = (rows) => new Map(rows.map((one) => [one.id, one]));

function mergedSets(mine, theirs, seen) {
  const [here, there, before] = [mine, theirs, seen].map(byKey);
  return [...new Set([...here.keys(), ...there.keys()])]
    .map((key) => mergedSet(here.get(key), there.get(key), before.get(key)))
    .filter(Boolean);
}

function mergedSet(mine, theirs, seen) {
  if (!seen && !(mine && theirs)) return { ...(mine ?? theirs) };
  const before = seen ?? theirs;
  const one = { ...(theirs ?? mine) };
  if (mine && theirs) for (const name of ["done", "side"]) one[name] = chosen(mine[name], theirs[name], before[name]);
  const names = COUNTS.filter((name) => Number.isInteger(mine?.[name] ?? theirs?.[name]));
  for (const name of names) one[name] = Math.max(0, (theirs?.[name] ?? 0) + (mine?.[name] ?? 0) - (before[name] ?? 0));
  if (one.made > one.tried) one.tried = one.made;
  // Taken back on one of the two pages, and not counted on by the other.
  return (mine && theirs) || names.some((name) => one[name]) ? one : null;
}

function mergedShots(mine, theirs, seen) {
  const [here, there, before] = [mine, theirs, seen].map(byKey);
  const stays = (key) => (here.has(key) && there.has(key)) || !before.has(key);
  return [...byKey([...theirs, ...mine]).values()].filter((one) => stays(one.id));
}

/** A set has places for all of its shots or for none: where they do not fit, the greater number counts. */
function fitted(workout) {
  const placeless = new Set();
  for (const one of workout.sets) {
    const shots = workout.shots.filter((shot) => shot.set === one.id);
    if (!shots.length || shots.length === one.tried) continue;
    if (one.tried > shots.length) placeless.add(one.id);
    else Object.assign(one, { tried: shots.length, made: shots.filter((shot) => shot.made).length });
  }
  const keys = new Set(workout.sets.map((one) => one.id));
  workout.shots = workout.shots.filter((shot) => keys.has(shot.set) && !placeless.has(shot.set));
  return workout;
}
