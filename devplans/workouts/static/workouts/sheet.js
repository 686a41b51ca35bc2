import { strokes } from "./strokes.js";
import { sumAsText } from "./text.js";

/** "7 of 10", "12 reps", "30 s"; nothing for a set in which nothing was counted. */
export function said(one, words) {
  if (one.tried) return words.of.replace("{made}", one.made).replace("{tried}", one.tried);
  if (one.reps) return words.reps.replace("{count}", one.reps);
  return one.seconds ? words.seconds.replace("{count}", one.seconds) : "";
}

/** A line of the sheet: the side, strokes in fives, the number. */
export function line(one, current, words) {
  const row = document.createElement("li");
  row.className = current ? "log-row current" : "log-row";
  const side = document.createElement("span");
  side.textContent = words.sides[one.side] || words.set;
  const drawn = document.createElement("span");
  drawn.append(strokes(one.made ?? one.reps ?? 0));
  const number = document.createElement("span");
  number.className = "of";
  number.textContent = said(one, words) || "–";
  row.append(side, drawn, number);
  return row;
}

const MOST_CHOICES = 25;

export function drawWholeSets(part, drill, words) {
  const choices = wholeSets(drill, words);
  const ask = part.querySelector('[data-part="whole-words"]');
  part.hidden = !choices.length;
  ask.textContent = words.whole.ask.replace("{tried}", drill.per_set);
  ask.hidden = choices.length < 2;
  part.querySelector('[data-part="whole-counts"]').replaceChildren(...choices);
}

/** A button for each count that a whole set can have; none where a set is too long for that. */
function wholeSets(drill, words) {
  if (drill.counts !== "makes") return [choice(drill.per_set, words.whole[drill.counts], drill.per_set)];
  if (drill.per_set > MOST_CHOICES) return [];
  return Array.from({ length: drill.per_set + 1 }, (_, made) => choice(made, String(made), drill.per_set, words));
}

function choice(count, text, each, words = null) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  Object.assign(button.dataset, { do: "whole", count });
  button.textContent = text.replace("{count}", count);
  const name = words?.whole.makes.replace("{made}", count).replace("{tried}", each);
  if (name) button.setAttribute("aria-label", name);
  return button;
}

/** What the phone holds of the workouts that are over, a line for each; `words`: those of sums. */
export function drawDone(log, finished, words) {
  log.part("hurts").hidden = !finished.some(({ workout }) => workout.pain);
  for (const { workout } of finished) {
    const line = log.part("did") ?? log.querySelector(`[data-did="${CSS.escape(workout.player)}"]`);
    const { minutes } = workout;
    line.textContent = [sumAsText(workout, words), minutes && words.minutes.replace("{count}", minutes)].filter(Boolean).join(" · ");
  }
}

export function clock(instant) {
  return new Date(instant).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
}

/** "1:05" of 65 seconds. */
export function minutesAndSeconds(seconds) {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
