// What takes longer fills in afterwards, and says that it is still coming: how long the bank lasts if
// charging is lost, and what each load costs.
import { Broken, Mistaken, Superseded } from "./asks.js";
import { row, table, THAN } from "./tables.js";

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
      const costs = table("What each load costs", COSTS);
      document.getElementById("costs").replaceChildren(costs);
      for (const [at, load] of loads.entries()) {
        put(`Still being worked out: what each load costs, ${at} of ${loads.length}.`);
        const found = await this.#asks.ask("cost", { changes, number, load });
        if (!isNewest()) return;
        costs.tBodies[0].append(costRow(found));
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
  const heads = ["how long the bank lasts", ...(found.rows.some((one) => one.difference) ? [THAN] : [])];
  const rows = found.rows.map((one) => row({}, one.label, heads, ...[one.told, one.difference].slice(0, heads.length)));
  return table(`If all charging is lost; the worst moment is ${found.moment}`, heads, ...rows);
}

const COSTS = ["fuel", "chance of failing"];

function costRow(found) {
  // Nobody is to find in a table of costs what to save on lights or lookout.
  const name = found.stays_on ? `${found.load} (stays on at sea)` : found.load;
  return row({ "data-load": found.load }, name, COSTS, found.litres, found.chance);
}
