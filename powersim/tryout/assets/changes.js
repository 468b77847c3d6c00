// What was changed from the files: a value by its place, in the order in which it was changed first.
// It lives in this tab's own store, so that it is still there when the page is loaded again.
const STORE = "powersim-changes";

export class Changes {
  #values = new Map();
  #watchers = [];
  #folder = null;

  // What was kept belongs to one folder; of another it is forgotten. A page that is opened first may
  // begin with changes: with a departure that was asked for in the terminal.
  of(folder, begun) {
    if (this.#folder === folder) return;
    this.#folder = folder;
    const kept = JSON.parse(sessionStorage.getItem(STORE) ?? "null");
    if (kept?.folder === folder) {
      this.#values = new Map(kept.values);
    } else {
      this.#values = new Map(begun.map((one) => [one.place, one.value]));
      this.#store();
    }
  }

  watch(told) {
    this.#watchers.push(told);
  }

  has(place) {
    return this.#values.has(place);
  }

  get(place) {
    return this.#values.get(place);
  }

  get size() {
    return this.#values.size;
  }

  set(place, value, how = "at once") {
    if (this.#values.has(place) && same(this.#values.get(place), value)) return;
    this.#values.set(place, value);
    this.#keep(how);
  }

  // Another name for the same thing.
  move(from, to, value, how) {
    this.#values.delete(from);
    this.#values.set(to, value);
    this.#keep(how);
  }

  undo(place, how = "at once") {
    if (this.#values.delete(place)) this.#keep(how);
  }

  undoAll() {
    this.#values.clear();
    this.#keep("at once");
  }

  // What the files themselves say now is no change any more. Nobody is told: the boat is laid out anew.
  settle(isSaid = () => true) {
    for (const [place, value] of [...this.#values]) if (isSaid(place, value)) this.#values.delete(place);
    this.#store();
  }

  // As the server takes them. What is left off takes no values: those wait until it is back.
  list() {
    return this.places().map((place) => ({ place, value: this.#values.get(place) }));
  }

  places() {
    const off = [...this.#values].filter(([, value]) => value === null).map(([place]) => `${place}.`);
    return [...this.#values.keys()].filter((place) => !off.some((start) => place.startsWith(start)));
  }

  #keep(how) {
    this.#store();
    for (const told of this.#watchers) told(how);
  }

  #store() {
    sessionStorage.setItem(STORE, JSON.stringify({ folder: this.#folder, values: [...this.#values] }));
  }
}

function same(one, other) {
  return one === other || JSON.stringify(one) === JSON.stringify(other);
}
