// One load, one panel, or the whole of a table that there is no more than one of.
import { Field } from "./fields.js";
import { freshId, heard, made } from "./made.js";

export class Row {
  #said;
  #changes;
  #fields;
  #more;
  #tick = null;
  #mistake = made("p", { class: "mistake", hidden: true });

  constructor(said, group, changes) {
    this.#said = said;
    this.#changes = changes;
    this.isLoad = group.id === "loads";
    this.#fields = said.fields.map((each) => new Field(each, changes));
    this.#more = said.more.map((each) => new Field(each, changes));
    const title = freshId("row");
    this.element = made(
      "div",
      { class: this.isLoad ? "row load" : "row", role: "group", "aria-labelledby": title, "data-place": said.place },
      this.#head(title, group),
      ...this.#fields.map((each) => each.element),
      this.#folded(),
      this.#mistake,
    );
    this.show();
  }

  get name() {
    return this.#said.name;
  }

  get labels() {
    return this.#said.fields.map((each) => each.label);
  }

  isOn() {
    const { place, on } = this.#said;
    if (this.#changes.has(place)) return this.#changes.get(place) !== null;
    return on !== false || this.#changes.has(`${place}.count`);
  }

  show() {
    const on = this.isOn();
    if (this.#tick) this.#tick.checked = on;
    this.element.toggleAttribute("data-off", !on);
    for (const each of this.#all()) {
      each.disable(!on);
      each.show();
    }
  }

  clear() {
    for (const each of this.#all()) each.mistake(null);
    this.#mistake.hidden = true;
  }

  // Whether a problem is one of this row: then it stands here, unfolded.
  takes(problem) {
    if (!problem.place) return false;
    const field = this.#all().find((each) => each.place === problem.place);
    const within = problem.place === this.#said.place || problem.place.startsWith(`${this.#said.place}.`);
    if (!field && !within) return false;
    if (field) {
      field.mistake(problem);
      if (this.#more.includes(field)) this.element.querySelector("details.more").open = true;
    } else {
      this.#mistake.hidden = false;
      this.#mistake.textContent = problem.expected ? `${problem.text}; expected ${problem.expected}` : problem.text;
    }
    const group = this.element.closest("details.group");
    if (group) group.open = true;
    return true;
  }

  // What its fields are to be minded for, and what now stands for those that are left out.
  minded(warnings, defaults) {
    for (const each of this.#all()) {
      each.warn(warnings.get(each.place) ?? null);
      each.moveDefault(defaults.get(each.place) ?? null);
    }
  }

  says(place) {
    return this.#all().find((each) => each.place === place)?.text;
  }

  called(place) {
    return place === this.#said.place && this.name ? this.name : null;
  }

  #all() {
    return [...this.#fields, ...this.#more];
  }

  #head(id, group) {
    const { name, on } = this.#said;
    if (on === null) return made("p", { class: name ? "title" : "title heard", id }, name || group.head);
    this.#tick = made("input", { type: "checkbox", "data-place": this.#said.place, onchange: () => this.#ticked() });
    const words = made("span", { id }, name || group.head);
    return made("label", { class: "title" }, this.#tick, " ", words);
  }

  // A load that the files have at a count of 0 comes back as one.
  #ticked() {
    const { place, on } = this.#said;
    const count = `${place}.count`;
    if (this.#tick.checked) {
      if (this.#changes.has(place)) this.#changes.undo(place);
      else this.#changes.set(count, "1");
    } else if (on === false) {
      this.#changes.undo(count);
    } else {
      this.#changes.set(place, null);
    }
  }

  #folded() {
    if (this.#more.length === 0) return null;
    const more = made("summary", {}, "more", heard(` of ${this.name || this.#said.place}`));
    return made("details", { class: "more" }, more, made("div", { class: "fields" }, ...this.#more.map((each) => each.element)));
  }
}
