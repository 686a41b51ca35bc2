import { Keys } from "../portal/keys.js";

/**
 * The keys of the film page: one table for the player and for all that lies beside it.
 * Taken by the player: space , . arrowleft arrowright s f a m w l ? and, for coaches, c b e.
 * Left for possessions: [ and ].
 */
export const shortcuts = new Keys("film");
