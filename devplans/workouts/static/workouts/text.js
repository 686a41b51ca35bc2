/** Unsent workouts as lines that can be pasted into a message, so that nothing hangs on one phone. */
export function asText(rows, words) {
  return rows.map((row) => workoutAsText(row.workout, words)).join("\n\n");
}

/** "3 sets, 13 of 24": enough to tell two workouts apart. */
export function sumAsText({ sets }, words) {
  const held = sets.filter((one) => one.tried || one.reps || one.seconds);
  const sum = (name) => held.reduce((total, one) => total + (one[name] ?? 0), 0);
  const [made, tried, reps, seconds] = ["made", "tried", "reps", "seconds"].map(sum);
  const counts = [
    tried && words.of.replace("{made}", made).replace("{tried}", tried),
    reps && words.reps.replace("{count}", reps),
    seconds && words.seconds.replace("{count}", seconds),
  ];
  return [(held.length === 1 ? words.set : words.sets).replace("{count}", held.length), ...counts.filter(Boolean)].join(", ");
}

function workoutAsText({ started_at, minutes, effort, sets, note, pain }, words) {
  const head = [new Date(started_at).toLocaleString()];
  if (minutes !== null) head.push(words.minutes.replace("{count}", minutes));
  if (effort !== null) head.push(words.effort.replace("{count}", effort));
  const lines = sets.filter((one) => one.tried || one.reps || one.seconds).map((one) => {
    const side = one.side && one.side !== "none" ? `, ${words.sides[one.side]}` : "";
    return `${one.drill.replaceAll("-", " ")}${side}: ${counted(one, words)}`;
  });
  return [head.join(" · "), ...lines, ...[pain, note].filter(Boolean)].join("\n");
}

function counted({ made, tried, reps, seconds }, words) {
  if (tried) return words.of.replace("{made}", made).replace("{tried}", tried);
  return reps ? words.reps.replace("{count}", reps) : words.seconds.replace("{count}", seconds);
}
