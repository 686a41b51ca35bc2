/** The list of drills, narrowed to those with `text` in their name or skill. */
export function filterDrills(section, text) {
  const wanted = text.trim().toLowerCase();
  section.querySelectorAll("[data-family]").forEach((family) => {
    const rows = [...family.querySelectorAll("li")];
    rows.forEach((row) => { row.hidden = !row.textContent.toLowerCase().includes(wanted); });
    family.hidden = rows.every((row) => row.hidden);
    family.open = Boolean(wanted);
  });
}

/** The line that says what is saved and what waits, and what can be done about it. */
export function drawState(log, desk, words) {
  const { state, message, workout, player } = desk;
  const text = (words[state] ?? "").replace("{message}", message).replace("{count}", workout.sets.length);
  const line = log.part("state");
  line.textContent = text && player.name ? `${player.name} · ${text}` : text;
  line.dataset.state = state;
  log.part("retry").hidden = state !== "offline";
  log.part("signed-out").hidden = state !== "signed-out";
  log.part("conflict").hidden = state !== "conflict";
  log.part("refused").hidden = state !== "refused" || !workout.finished;
}
