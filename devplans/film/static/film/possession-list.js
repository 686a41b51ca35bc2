/** The possessions of a film in its order: [{id, side, startMs, endMs}], endMs null while one goes on. */
export function fromServer(row) {
  return { id: row.id, side: row.side, startMs: row.start_ms, endMs: row.end_ms };
}

export function toServer(row) {
  return { side: row.side, start_ms: row.startMs, end_ms: row.endMs };
}

export const other = (side) => (side === "ours" ? "theirs" : "ours");

export class PossessionList {
  constructor(rows) {
    this.rows = [...rows].sort((one, two) => one.startMs - two.startMs);
  }

  get(id) {
    return this.rows.find((row) => row.id === id) ?? null;
  }

  put(row) {
    this.remove(row.id);
    const at = this.rows.findIndex((one) => one.startMs > row.startMs);
    this.rows.splice(at < 0 ? this.rows.length : at, 0, row);
  }

  remove(id) {
    this.rows = this.rows.filter((row) => row.id !== id);
  }

  /** Index of the last one that has begun at `ms`; -1 before the first. */
  begunAt(ms) {
    let [low, high] = [-1, this.rows.length - 1];
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (this.rows[middle].startMs <= ms) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** Index of the one that the film is in at `ms`; -1 in dead time. */
  indexAt(ms) {
    const index = this.begunAt(ms);
    const row = this.rows[index];
    return row && (row.endMs === null || ms < row.endMs) ? index : -1;
  }

  /** What a new start at `ms` does: rows to put, in order; none where one starts there already. */
  start(ms, id) {
    const begun = this.rows[this.begunAt(ms)];
    if (begun?.startMs === ms) return [];
    const next = this.rows[this.begunAt(ms) + 1];
    const side = begun ? other(begun.side) : "ours";
    const inside = begun && this.indexAt(ms) >= 0;
    const endMs = (inside ? begun.endMs : null) ?? next?.startMs ?? null;
    const added = { id, side, startMs: ms, endMs };
    return inside ? [{ ...begun, endMs: ms }, added] : [added];
  }

  /** What an end at `ms` does: the one that goes on ends, or the last one lasts until here. */
  end(ms) {
    const begun = this.rows[this.begunAt(ms)];
    return begun && begun.startMs < ms && begun.endMs !== ms ? [{ ...begun, endMs: ms }] : [];
  }
}
