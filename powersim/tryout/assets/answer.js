// The answer: verdict, picture, measures. The last good one stays behind, greyed, while a mistake is told.
import { held, made } from "./made.js";
import { ReadOut } from "./readout.js";
import { row, table, THAN } from "./tables.js";

const LATE_MS = 300;

export class Answer {
  sentence = "";
  minds = [];
  #name = "";
  #timer = null;
  #readOut = new ReadOut();

  named(name) {
    this.#name = name;
    document.title = `${name}: try it`;
  }

  show(found) {
    const { word, holds, sentence, next } = found.verdict;
    const { short, why } = parted(word, sentence);
    this.#state(holds ? "holds" : "fails", "");
    put("mark", holds ? "\u2713" : "\u2717");
    put("word", word);
    put("short", `${short}.`);
    put("why", why ? `${why[0].toUpperCase()}${why.slice(1)}.` : "");
    const minds = found.warnings.map((one) => one.text);
    document.getElementById("warnings").replaceChildren(...minds.map((each) => made("li", {}, held(each))));
    put("next", next ? `Next: ${next}.` : "");
    // The picture is made by the server of numbers alone, and what are words in it is escaped there.
    document.getElementById("picture").innerHTML = found.picture;
    document.getElementById("charge").hidden = !found.picture;
    this.#readOut.read();
    document.getElementById("measures").replaceChildren(measures(found.measures));
    document.title = `${word}: ${this.#name}`;
    this.sentence = `${word}: ${short}.`;
    this.minds = minds;
  }

  // A quick answer needs no word that it is coming.
  working() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => put("working", "Working it out again ..."), LATE_MS);
    document.getElementById("answer").setAttribute("aria-busy", "true");
  }

  first(members) {
    put("short", `Simulating ${members} passages for the first time: some seconds.`);
  }

  // Why the answer that stands there is that of before; where none stands there, why there is none.
  stale(why) {
    const state = verdict().dataset.state;
    if (state === "waiting" || state === "nothing") {
      this.nothing(`No answer yet: ${why}.`);
      return;
    }
    this.#state(state, `The last answer: ${why}.`);
    for (const each of [verdict(), figures()]) each.toggleAttribute("data-stale", true);
  }

  nothing(why = "No answer yet.") {
    this.#state("nothing", "");
    put("mark", "");
    put("word", "");
    put("short", why);
  }

  #state(state, working) {
    clearTimeout(this.#timer);
    verdict().dataset.state = state;
    for (const each of [verdict(), figures()]) each.toggleAttribute("data-stale", false);
    put("working", working);
    document.getElementById("answer").removeAttribute("aria-busy");
  }
}

function verdict() {
  return document.getElementById("verdict");
}

function figures() {
  return document.getElementById("figures");
}

function put(id, words) {
  document.getElementById(id).textContent = held(words);
}

// What stays in view is one sentence; what is broken, and how often, stands below it.
function parted(word, sentence) {
  const rest = sentence.startsWith(`${word}: `) ? sentence.slice(word.length + 2) : sentence;
  const at = rest.indexOf("): ");
  const cut = at >= 0 ? at + 1 : rest.indexOf(": ");
  return cut < 0 ? { short: rest, why: "" } : { short: rest.slice(0, cut), why: rest.slice(cut + 2) };
}

// Differences are there where something was changed from files that have an answer of their own.
function measures(found) {
  const heads = found.some((one) => one.difference) ? ["now", THAN] : ["now"];
  const rows = found.map((one) => row({ "data-measure": one.id }, one.label, heads, ...[one.told, one.difference].slice(0, heads.length)));
  return table("What it comes to, on average over the simulated passages", heads, ...rows);
}
