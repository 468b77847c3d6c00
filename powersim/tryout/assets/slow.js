// What takes longer fills in afterwards, and says that it is still coming: how long the bank lasts if
// charging is lost, and what each load costs.
import { Broken, Mistaken, Superseded } from "./asks.js";
import { held, made } from "./made.js";

const REST_MS = 600;

export class Slow {
  #asks;
  #notices;
  #timer = null;

  constructor(asks, notices) {
    this.#asks = asks;
    this.#notices = notices;
  }

  // What stands there is of before, and is told so until it is worked out again.
  stop() {
    clearTimeout(this.#timer);
    section().toggleAttribute("data-stale", true);
    put(document.getElementById("days").hasChildNodes() ? "These are of the answer before." : "");
  }

  begin(asked) {
    clearTimeout(this.#timer);
    if (!document.getElementById("days").hasChildNodes()) section().hidden = false;
    put("Still being worked out: how long the bank lasts, then what each load costs.");
    this.#timer = setTimeout(() => this.#work(asked), REST_MS);
  }

  async #work({ changes, number, loads, isNewest }) {
    try {
      const days = await this.#asks.ask("days", { changes, number });
      if (!isNewest()) return;
      section().toggleAttribute("data-stale", false);
      document.getElementById("days").replaceChildren(daysTable(days));
      const rows = made("tbody");
      document.getElementById("costs").replaceChildren(costsTable(rows));
      for (const [at, load] of loads.entries()) {
        put(`Still being worked out: what each load costs, ${at} of ${loads.length}.`);
        const found = await this.#asks.ask("cost", { changes, number, load });
        if (!isNewest()) return;
        rows.append(costRow(found));
      }
      put("");
    } catch (trouble) {
      if (trouble instanceof Superseded || !isNewest()) return;
      if (trouble instanceof Mistaken) put(`Not worked out: ${trouble.inWords}.`);
      else if (trouble instanceof Broken) put(`Not worked out: ${trouble.message}`);
      else throw trouble;
    }
  }
}

function section() {
  return document.getElementById("slow");
}

function put(words) {
  document.getElementById("slow-working").textContent = words;
}

function daysTable(found) {
  const differs = found.rows.some((row) => row.difference);
  return made(
    "table",
    { class: "measures" },
    made("caption", {}, held(`If all charging is lost; the worst moment is ${found.moment}`)),
    made("thead", {}, made("tr", {}, made("td"), head("how long the bank lasts"), differs ? head("than as the files say") : null)),
    made("tbody", {}, ...found.rows.map((row) => made("tr", {}, rowHead(row.label), cell(row.told), differs ? cell(row.difference) : null))),
  );
}

function costsTable(rows) {
  return made(
    "table",
    { class: "measures" },
    made("caption", {}, "What each load costs"),
    made("thead", {}, made("tr", {}, made("td"), head("fuel"), head("chance of failing"))),
    rows,
  );
}

function costRow(found) {
  return made("tr", { "data-load": found.load }, rowHead(found.load), cell(found.litres), cell(found.chance));
}

function head(words) {
  return made("th", { scope: "col" }, words);
}

function rowHead(words) {
  return made("th", { scope: "row" }, words);
}

function cell(words) {
  return made("td", {}, held(words));
}
