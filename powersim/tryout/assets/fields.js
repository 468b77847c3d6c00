// One value of the boat: typed, chosen or stepped; its default and reason beside it, and its mistake.
import { freshId, made } from "./made.js";
import { numberIn, stepped } from "./stepping.js";

const STEPS = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 };

export class Field {
  #said;
  #changes;
  #input;
  #hint;
  #mistake;
  #warning;
  #moved = null;

  // `holder` has the value: the changes themselves, or a row that is being added.
  constructor(said, holder) {
    this.#said = said;
    this.#changes = holder;
    const id = freshId("field");
    this.#input = said.choices ? chooser(said) : made("input", { type: "text", autocomplete: "off", spellcheck: "false" });
    this.#hint = made("p", { class: "hint", id: `${id}-hint` });
    this.#mistake = made("p", { class: "mistake", id: `${id}-mistake`, hidden: true });
    this.#warning = made("p", { class: "warning", id: `${id}-warning`, hidden: true });
    const input = this.#input;
    input.id = id;
    input.dataset.place = said.place;
    input.setAttribute("aria-describedby", `${id}-hint ${id}-mistake ${id}-warning`);
    if (said.step) input.setAttribute("role", "spinbutton");
    input.addEventListener(said.choices ? "change" : "input", () => this.#take(said.choices ? "at once" : "typed"));
    input.addEventListener("keydown", (event) => this.#key(event));
    this.element = made(
      "div",
      { class: "field" },
      made("label", { for: id }, said.label),
      made("div", { class: "typed" }, input, said.step ? this.#buttons() : null, this.#hint),
      this.#mistake,
      this.#warning,
    );
    this.show();
  }

  get place() {
    return this.#said.place;
  }

  get text() {
    return this.#said.text;
  }

  // As the changes have it now; what is being typed is left as it is typed.
  show() {
    const changed = this.#changes.has(this.place);
    const text = changed ? (this.#changes.get(this.place) ?? "") : this.#said.text;
    if (this.#input.value.trim() !== text.trim()) this.#input.value = text;
    this.element.toggleAttribute("data-changed", changed);
    this.#hint.textContent = this.#hinted(changed);
    if (!this.#said.choices) this.#input.placeholder = this.#default ?? "";
    this.#number();
  }

  // Another chemistry has another floor: what now stands for a value that is left out, or null.
  moveDefault(moved) {
    this.#moved = moved;
    const option = this.#input.querySelector?.("option[value='']");
    if (option) option.textContent = leftOut(this.#default);
    this.show();
  }

  disable(off) {
    this.#input.disabled = off;
  }

  // What is wrong with it, or null. Colour is not all that tells: there are words, and a mark.
  mistake(problem) {
    this.#mistake.hidden = problem === null;
    this.#mistake.textContent = problem === null ? "" : told(problem);
    if (problem === null) this.#input.removeAttribute("aria-invalid");
    else this.#input.setAttribute("aria-invalid", "true");
  }

  // What it deserves to be minded for, or null: no mistake, and it is worked out all the same.
  warn(text) {
    this.#warning.hidden = text === null;
    this.#warning.textContent = text ?? "";
  }

  get #default() {
    return (this.#moved ?? this.#said).default;
  }

  #hinted(changed) {
    const { text, given, what, example, isNew } = this.#said;
    const { default: byDefault, reason } = this.#moved ?? this.#said;
    if (changed && isNew) return what;
    if (changed && given) return `was ${text}`;
    if (changed) return `was left out${this.#said.default ? `: ${this.#said.default}` : ""}`;
    if (given) return what;
    if (byDefault) return reason ? `left out: ${byDefault}, ${reason}` : `left out: ${byDefault}`;
    if (reason) return `left out: ${reason}`;
    return example ? `${what}, for example ${example}` : what;
  }

  #take(how) {
    const typed = this.#input.value.trim();
    const { text, given } = this.#said;
    if (typed === text.trim()) this.#changes.undo(this.place, how);
    else if (typed === "" && !given) this.#changes.undo(this.place, how);
    else this.#changes.set(this.place, typed === "" ? null : typed, how);
    this.#number();
  }

  #key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "Escape" && this.#changes.has(this.place)) {
      this.#changes.undo(this.place);
    } else if (this.#said.step && event.key in STEPS) {
      this.#step(STEPS[event.key]);
    } else {
      return;
    }
    event.preventDefault();
  }

  // From what is left out, a step starts at what stands for it.
  #step(steps) {
    const moved = stepped(this.#input.value.trim() || (this.#default ?? ""), this.#said.step, steps);
    if (moved === null || this.#input.disabled) return;
    this.#input.value = moved;
    this.#take("stepped");
  }

  // For a pointer; the keyboard has its arrows, so a screen reader need not go past them.
  #buttons() {
    const button = (sign, steps) =>
      made("button", { type: "button", tabindex: "-1", onpointerdown: (event) => {
        event.preventDefault();
        this.#input.focus();
        this.#step(steps);
      } }, sign);
    return made("span", { class: "steps", "aria-hidden": "true" }, button("\u2212", -1), button("+", 1));
  }

  #number() {
    if (!this.#said.step) return;
    const number = numberIn(this.#input.value || (this.#default ?? ""), this.#said.step);
    this.#input.setAttribute("aria-valuenow", String(number ?? 0));
    this.#input.setAttribute("aria-valuetext", this.#input.value || this.#default || "nothing");
  }
}

function chooser(said) {
  const choices = [...said.choices];
  if (said.text && !choices.includes(said.text)) choices.unshift(said.text);
  const select = made("select", {}, ...choices.map((each) => made("option", { value: each }, each)));
  if (!said.given || said.default !== null) {
    select.prepend(made("option", { value: "" }, leftOut(said.default)));
  }
  return select;
}

function leftOut(byDefault) {
  return byDefault ? `${byDefault} (left out)` : "left out";
}

// A mistake in the words of `check`.
export function told(problem) {
  return problem.expected ? `${problem.text}; expected ${problem.expected}` : problem.text;
}
