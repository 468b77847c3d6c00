// What was changed, as a list: undo one or all, put them into the files or a new folder, print the card.
import { Broken, Mistaken, Superseded } from "./asks.js";
import { made } from "./made.js";
import { buttons } from "./notices.js";
import { put as ask } from "./question.js";

export class Changed {
  card = made("button", { type: "button", id: "card-open" }, "The card, to print");
  #place = document.getElementById("changed");
  #told = new Map();
  #with;

  constructor(parts) {
    this.#with = parts;
  }

  // The server's words for each change come with its answer.
  told(found) {
    this.#told = new Map(found.map((one) => [one.place, one.told]));
    this.show();
  }

  mistaken(problems) {
    for (const one of problems) if (one.place) this.#told.delete(one.place);
    this.show();
  }

  show() {
    const { changes } = this.#with;
    const places = changes.places();
    if (places.length === 0) {
      this.#place.replaceChildren(made("p", {}, "Nothing. This is what the files say."), made("p", { class: "buttons" }, this.card));
      return;
    }
    const items = places.map((place) => {
      const words = this.#told.get(place) ?? this.#plainly(place);
      const undo = made("button", { type: "button", onclick: () => this.#undo(place) }, "Undo", made("span", { class: "heard" }, `: ${words}`));
      return made("li", { "data-place": place }, made("span", {}, words), " ", undo);
    });
    const actions = buttons(
      ["Undo all", () => this.#undo(null)],
      ["Put into the files", () => this.#intoFiles()],
      ["Save as a new folder", () => this.#save("new")],
    );
    actions.append(this.card);
    this.#place.replaceChildren(made("ul", { id: "changed-list" }, ...items), actions);
  }

  #plainly(place) {
    const value = this.#with.changes.get(place);
    if (value === null) return `${this.#with.boat.named(place)} left off`;
    if (typeof value === "object") return `${place} added: ${Object.values(value).join(", ")}`;
    return `${place} ${value}`;
  }

  // The button goes with its line: whoever pressed it by keyboard stays in the list.
  #undo(place) {
    const { changes } = this.#with;
    if (place === null) changes.undoAll();
    else changes.undo(place);
    (this.#place.querySelector("button") ?? this.#place).focus();
  }

  #intoFiles() {
    const places = this.#with.changes.places();
    const list = places.map((place) => made("li", {}, this.#told.get(place) ?? this.#plainly(place)));
    const ofLoads = places.filter((place) => place.startsWith("loads.")).length;
    const files = [ofLoads < places.length ? "boat.toml" : null, ofLoads > 0 ? "loads.csv" : null].filter(Boolean);
    ask({
      head: "Put these changes into your files?",
      text: [
        made("p", {}, `This writes into ${files.join(" and ")} in the passage folder:`),
        made("ul", {}, ...list),
        made("p", {}, `Your comments and the order stay as they are. What ${files.join(" and ")} ${files.length > 1 ? "say" : "says"} now is kept beside, with date and time at the end of its name.`),
      ],
      yes: "Yes, put them into the files",
      then: () => this.#save("files"),
    });
  }

  async #save(into) {
    const { asks, changes, notices, again } = this.#with;
    notices.clear("done"); // what was said of another time
    try {
      const found = await asks.ask("save", { changes: changes.list(), into });
      if (into === "files") changes.settle();
      await again();
      notices.done(
        made("p", {}, made("strong", {}, found.told)),
        made("ul", {}, ...found.changes.map((each) => made("li", {}, each))),
      );
    } catch (trouble) {
      if (trouble instanceof Mistaken) notices.refused(`Nothing was written: ${trouble.inWords}.`);
      else if (trouble instanceof Broken) notices.refused(`Nothing was written. ${trouble.message}`);
      else if (!(trouble instanceof Superseded)) throw trouble;
    }
  }
}
