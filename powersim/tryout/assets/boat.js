// The boat: groups that fold, a row for each load or panel, the fields of each.
import { Adding } from "./adding.js";
import { heard, made } from "./made.js";
import { Row } from "./rows.js";

// What is asked for first: what uses charge, what holds it, what makes it, when she leaves.
const OPEN = ["loads", "battery", "panel", "charging", "passage"];

export class Boat {
  #changes;
  #rows = [];
  #addings = [];
  #folds = new Map();

  constructor(changes) {
    this.#changes = changes;
  }

  lay(groups) {
    const place = document.getElementById("groups");
    for (const each of place.querySelectorAll("details.group")) this.#folds.set(each.id, each.open);
    this.#rows = [];
    this.#addings = [];
    place.replaceChildren(parts(groups), ...groups.map((group) => this.#group(group)));
  }

  show() {
    for (const each of [...this.#rows, ...this.#addings]) each.show();
  }

  // Puts each problem beside its field, and gives back those that have none.
  mistakes(problems) {
    const rows = this.#everyRow();
    for (const row of rows) row.clear();
    return problems.filter((problem) => !rows.some((row) => row.takes(problem)));
  }

  minded(warnings, defaults) {
    const byPlace = (found) => new Map(found.filter((one) => one.place).map((one) => [one.place, one]));
    const texts = new Map([...byPlace(warnings)].map(([place, one]) => [place, one.text]));
    for (const row of this.#everyRow()) row.minded(texts, byPlace(defaults));
  }

  loadsInUse() {
    return this.#rows.filter((row) => row.isLoad && row.isOn()).map((row) => row.name);
  }

  // What the files have at a place; undefined where there is no field for it.
  says(place) {
    return this.#rows.map((row) => row.says(place)).find((text) => text !== undefined);
  }

  // What a place is called on the page.
  named(place) {
    for (const row of this.#everyRow()) {
      const found = row.called(place);
      if (found) return found;
    }
    return place;
  }

  #everyRow() {
    return [...this.#rows, ...this.#addings.flatMap((each) => each.rows)];
  }

  #group(group) {
    const rows = group.rows.map((row) => new Row(row, group, this.#changes));
    this.#rows.push(...rows);
    const several = group.place === null;
    const body = made("div", { class: "rows" }, ...rows.map((row) => row.element));
    const details = made(
      "details",
      { class: "group", id: `group-${group.id}` },
      made("summary", {}, made("h3", {}, group.head), several ? count(rows.length) : null),
      group.id === "loads" ? heads(rows) : null,
      body,
    );
    details.open = this.#folds.get(details.id) ?? OPEN.includes(group.id);
    if (group.add) {
      const adding = new Adding(group, this.#changes);
      this.#addings.push(adding);
      details.append(adding.element);
    }
    return details;
  }
}

// A long boat is not scrolled through: each part is a step away, and unfolded.
function parts(groups) {
  const link = (group) =>
    made("a", { href: `#group-${group.id}`, onclick: (event) => {
      event.preventDefault();
      const details = document.getElementById(`group-${group.id}`);
      details.open = true;
      details.scrollIntoView();
      details.querySelector("summary").focus();
    } }, group.head);
  return made("nav", { "aria-label": "Parts of the boat", class: "parts" }, ...groups.flatMap((group) => [link(group), " "]));
}

function count(number) {
  return made("span", { class: "count" }, ` ${number}`, heard(" of them"));
}

// Seen once above all rows; each field has a label of its own for those who hear it.
function heads(rows) {
  const labels = rows[0]?.labels ?? [];
  return made("div", { class: "heads", "aria-hidden": "true" }, made("span"), ...labels.map((each) => made("span", {}, each)), made("span"));
}
