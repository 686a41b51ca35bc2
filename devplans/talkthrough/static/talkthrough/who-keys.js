/** One key for each player, so that anybody is picked with one press. */
import { plain } from "../feedback/picker.js";

const LETTERS = [..."abcdefghijklmnopqrstuvwxyz"];

/**
 * names: [[first, last], …]; a letter for each, "" where none is left. A letter that begins the first
 * name of one player alone is his; that of several is nobody's, so that who types a name out gets
 * nobody else. The others have a letter of their first name, or any that is free.
 */
export function keysFor(names) {
  const firsts = names.map(([first]) => plain(first)[0] ?? "");
  const lasts = names.map(([, last]) => plain(last)[0] ?? "");
  const taken = new Set(firsts);
  const keys = firsts.map((letter) => (LETTERS.includes(letter) && firsts.indexOf(letter) === firsts.lastIndexOf(letter) ? letter : ""));
  const give = (lettersOf) => keys.forEach((key, index) => {
    if (key) return;
    const free = lettersOf(names[index]).find((letter) => LETTERS.includes(letter) && !taken.has(letter));
    if (!free) return;
    keys[index] = free;
    taken.add(free);
  });
  give(([first]) => [...plain(first)]);
  give(() => LETTERS.filter((letter) => !lasts.includes(letter)));
  give(() => LETTERS);
  return keys;
}
