/**
 * Keyboard shortcuts. A single letter works outside fields, Alt with it works everywhere;
 * a person can change each letter or switch them all off, kept per person on this device.
 */
const NOT_TYPED = new Set(["button", "checkbox", "color", "file", "image", "radio", "range", "reset", "submit"]);

function isTyping(target) {
  if (!(target instanceof Element)) return false;
  if (target.closest("textarea, select, [contenteditable]:not([contenteditable='false'])")) return true;
  const input = target.closest("input");
  return Boolean(input) && !NOT_TYPED.has(input.type);
}

/** The key an event means: a lower-case letter, a digit, a sign, or a name such as "space". */
export function keyOf(event) {
  // With Alt some keyboards type a sign instead of the letter; then the place of the key decides.
  const typed = /^[a-z0-9]$/i.test(event.key);
  if (event.altKey && !typed && /^(Key[A-Z]|Digit[0-9])$/.test(event.code)) return event.code.slice(-1).toLowerCase();
  return event.key === " " ? "space" : event.key.toLowerCase();
}

export class Keys {
  /** scope: which page's shortcuts; owner: whose choices, an id that is the same on every page. */
  constructor(scope, { owner = document.body.dataset.person ?? "", store = localStorage } = {}) {
    this.place = `keys:${owner}:${scope}`;
    this.store = store;
    this.actions = new Map();
    this.chosen = this.read();
  }

  read() {
    try {
      return { off: false, keys: {}, ...JSON.parse(this.store.getItem(this.place) ?? "{}") };
    } catch {
      return { off: false, keys: {} };
    }
  }

  write() {
    try {
      this.store.setItem(this.place, JSON.stringify(this.chosen));
    } catch {
      // storage may be closed to us; the choice then lasts as long as the page
    }
  }

  /**
   * name: stable; key: what it is on unless changed; alone: may work without Alt outside fields;
   * group: the heading it stands under in a list.
   */
  add(name, key, run, { label = name, alone = true, group = "" } = {}) {
    this.actions.set(name, { name, key, run, label, alone, group });
    return this;
  }

  /** Rows for a help page: name, label, group, key now, key unless changed, who else has that key. */
  list() {
    return [...this.actions.values()].map(({ name, label, group, key }) => ({
      name, label, group, key: this.keyFor(name), usual: key, clash: this.holderOf(this.keyFor(name), name),
    }));
  }

  /** The name of another action that is on `key`, or null. */
  holderOf(key, name) {
    return [...this.actions.keys()].find((other) => other !== name && this.keyFor(other) === key) ?? null;
  }

  keyFor(name) {
    return this.chosen.keys[name] ?? this.actions.get(name)?.key ?? null;
  }

  get off() {
    return this.chosen.off;
  }

  set off(value) {
    this.chosen.off = Boolean(value);
    this.write();
  }

  /** Puts an action on another key; the name of the action that already holds it, or null when done. */
  change(name, key) {
    const wanted = key === " " ? "space" : key.toLowerCase();
    const holder = this.holderOf(wanted, name);
    if (holder) return holder;
    this.chosen.keys[name] = wanted;
    this.write();
    return null;
  }

  /** Two actions change keys. */
  swap(name, holder) {
    const [mine, theirs] = [this.keyFor(name), this.keyFor(holder)];
    Object.assign(this.chosen.keys, { [name]: theirs, [holder]: mine });
    this.write();
  }

  reset() {
    this.chosen = { off: false, keys: {} };
    this.write();
  }

  /** The action an event asks for, or null. */
  match(event) {
    if (this.chosen.off || event.defaultPrevented || event.isComposing || event.ctrlKey || event.metaKey) return null;
    const typing = isTyping(event.target);
    if (typing && !event.altKey) return null;
    const key = keyOf(event);
    // Space and Enter belong to the control that has the focus.
    if (!event.altKey && (key === "space" || key === "enter") && event.target.closest?.("a, button, summary, input, video[controls]")) return null;
    for (const action of this.actions.values()) {
      if (this.keyFor(action.name) === key && (event.altKey || action.alone)) return action;
    }
    return null;
  }

  /** Listens until the signal aborts. */
  listen({ target = document, signal } = {}) {
    target.addEventListener("keydown", (event) => {
      const action = this.match(event);
      if (!action) return;
      event.preventDefault();
      action.run(event);
    }, { signal });
    return this;
  }
}
