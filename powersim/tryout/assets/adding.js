// A load or a panel that she has not got yet: a row of its own, in the changes as a whole table.
import { Field } from "./fields.js";
import { freshId, made } from "./made.js";

export class Adding {
  rows = [];
  #said;
  #changes;
  #button;
  #place = made("div", { class: "rows" });

  constructor(group, changes) {
    this.#said = group.add;
    this.#changes = changes;
    this.#button = made("button", { type: "button", "data-add": group.id, onclick: () => this.#add() }, group.add.label);
    this.element = made("div", { class: "adding" }, this.#place, made("p", { class: "buttons" }, this.#button));
  }

  // A row for each table among the changes that belongs here; one that was undone goes.
  show() {
    const wanted = this.#changes.places().filter((place) => this.#isOurs(place));
    this.rows = this.rows.filter((row) => row.isDraft || wanted.includes(row.place));
    for (const place of wanted) {
      if (!this.rows.some((row) => row.place === place)) this.rows.push(this.#row(place));
    }
    const elements = this.rows.map((row) => row.element);
    if (elements.some((each, at) => this.#place.children[at] !== each) || this.#place.children.length !== elements.length) {
      this.#place.replaceChildren(...elements);
    }
    for (const row of this.rows) row.show();
  }

  #isOurs(place) {
    const value = this.#changes.get(place);
    return place.startsWith(this.#said.prefix) && value !== null && typeof value === "object";
  }

  #row(place) {
    return new AddedRow(place, this.#said, this.#changes, (row) => {
      this.rows = this.rows.filter((each) => each !== row);
      this.show();
      this.#button.focus();
    });
  }

  #add() {
    let number = 1;
    const place = () => `${this.#said.prefix}new${number > 1 ? ` ${number}` : ""}`;
    while (this.#changes.has(place()) || this.rows.some((row) => row.place === place())) number += 1;
    const row = this.#row(place());
    this.rows.push(row);
    row.begin();
    this.show();
    row.element.querySelector("input")?.focus();
  }
}

// It holds the values of its fields as the changes hold those of all others.
class AddedRow {
  isDraft = true;
  #said;
  #changes;
  #fields;
  #name;
  #mistake = made("p", { class: "mistake", hidden: true });

  constructor(place, said, changes, gone) {
    this.place = place;
    this.#said = said;
    this.#changes = changes;
    const id = freshId("added");
    this.#name = made("input", { type: "text", id, autocomplete: "off", "data-name-of": said.prefix, onchange: () => this.#rename() });
    this.#fields = said.fields.map((each) => new Field({ ...each, given: false, text: "", isNew: true }, this));
    const away = made("button", { type: "button", onclick: () => {
      this.isDraft = false;
      gone(this);
      changes.undo(this.place);
    } }, "Take it out again");
    this.element = made(
      "div",
      { class: "row added", role: "group", "aria-label": said.label },
      made("div", { class: "field" }, made("label", { for: id }, "name"), this.#name),
      ...this.#fields.map((each) => each.element),
      made("p", { class: "buttons" }, away),
      this.#mistake,
    );
  }

  // With the values that it is offered with, so that it is answered at once.
  begin() {
    const offered = Object.fromEntries(this.#said.fields.filter((each) => each.text).map((each) => [each.place, each.text]));
    if (Object.keys(offered).length > 0) this.#changes.set(this.place, offered);
  }

  has(key) {
    return key in this.#table();
  }

  get(key) {
    return this.#table()[key];
  }

  set(key, value, how) {
    if (value === null) this.undo(key, how);
    else this.#changes.set(this.place, { ...this.#table(), [key]: value }, how);
  }

  undo(key, how) {
    const { [key]: _gone, ...rest } = this.#table();
    if (Object.keys(rest).length > 0) this.#changes.set(this.place, rest, how);
    else this.#changes.undo(this.place, how);
  }

  show() {
    if (this.#changes.has(this.place)) this.isDraft = false;
    if (document.activeElement !== this.#name) this.#name.value = unquoted(this.place.slice(this.#said.prefix.length));
    for (const each of this.#fields) each.show();
  }

  clear() {
    for (const each of this.#fields) each.mistake(null);
    this.#mistake.hidden = true;
  }

  takes(problem) {
    if (!problem.place || (problem.place !== this.place && !problem.place.startsWith(`${this.place}.`))) return false;
    const field = this.#fields.find((each) => problem.place === `${this.place}.${each.place}`);
    if (field) {
      field.mistake(problem);
    } else {
      this.#mistake.hidden = false;
      this.#mistake.textContent = problem.expected ? `${problem.text}; expected ${problem.expected}` : problem.text;
    }
    return true;
  }

  minded(warnings) {
    for (const each of this.#fields) each.warn(warnings.get(`${this.place}.${each.place}`) ?? null);
  }

  called() {
    return null;
  }

  #table() {
    return this.#changes.get(this.place) ?? {};
  }

  #rename() {
    const name = this.#name.value.trim().replace(/\s+/g, " ");
    const place = this.#said.prefix + quoted(name);
    if (!name || this.#changes.has(place)) {
      this.show();
      return;
    }
    const before = this.place;
    this.place = place;
    if (this.#changes.has(before)) this.#changes.move(before, place, this.#changes.get(before), "at once");
  }
}

// A name as a part of a place: in quotes where it holds what would end it.
function quoted(name) {
  if (!/[."']/.test(name)) return name;
  const quote = name.includes('"') ? "'" : '"';
  return `${quote}${name}${quote}`;
}

function unquoted(part) {
  return part.replace(/^(["'])(.*)\1$/s, "$2");
}
