import { Keys } from "../portal/keys.js";

/**
 * The keys of the film page: one table for the player and for all that lies beside it.
 * Taken: space , . arrowleft arrowright s f a m w z ? and, for coaches, c b e l by the player;
 * [ ] r k p i o u delete by possessions; g h by the game clock; d n t 1 to 9 and Alt+Enter by the
 * comment's form; j q, and while somebody talks y and backspace, by the talk-through. Where two take the same key, the list on ? says so, and the first one gets it.
 */
export const shortcuts = new Keys("film");
