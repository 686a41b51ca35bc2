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

/** What was typed into the fields of one set; null for what was not. */
export function numbersIn({ elements }) {
  const number = (name) => (elements[name].value === "" ? null : Number(elements[name].value));
  return { made: number("made"), tried: number("tried"), reps: number("reps"), seconds: number("seconds") };
}
