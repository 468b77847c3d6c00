// What the page has to say beside the answer: the server has ended, files were changed, mistakes.
import { made } from "./made.js";

export class Notices {
  #place = document.getElementById("notices");
  #shown = new Map();
  #passedOver = "";

  clear(...kinds) {
    for (const kind of kinds) {
      const notice = this.#shown.get(kind);
      // Its button goes with it: whoever pressed it by keyboard goes on at the answer.
      if (notice?.contains(document.activeElement)) document.getElementById("answer").focus();
      notice?.remove();
      this.#shown.delete(kind);
    }
  }

  noKey() {
    this.#put("key", "alert", made("p", {}, made("strong", {}, "This page has no key. "),
      "It was opened by its bare address, which shows nothing of any boat. Open the address that powersim try shows in the terminal, as a whole: it ends in # and the key. Or go on in the tab that is open already."));
  }

  broken(message, again) {
    this.#put("broken", "alert", made("p", {}, message), buttons(["Try again", again]));
  }

  // Said once, however often it is found out.
  ended(message) {
    if (!this.#shown.has("ended")) this.#put("ended", "alert", made("p", {}, message));
  }

  get hasEnded() {
    return this.#shown.has("ended");
  }

  // Everything that is wrong with the files, in the words of `check`; it can be mended on the page, too.
  files(problems, open) {
    const many = problems.length === 1 ? "There is a mistake in the files" : `There are ${problems.length} mistakes in the files`;
    this.#put("files", "alert",
      made("p", {}, made("strong", {}, `${many}. `), "No answer until this is mended, in the files or here:"),
      list(problems),
      buttons(["Read the files again", () => open("read_again")]));
  }

  // Mistakes in what was changed that have no field to stand beside.
  mistakes(problems) {
    this.#put("mistakes", "alert", made("p", {}, made("strong", {}, "This cannot be worked out:")), list(problems));
  }

  // Asked once for each change on disk: read them, or go on with what was read.
  disk(state, open) {
    const files = state.files.join(" and ");
    if (!state.changed_on_disk) {
      this.clear("disk");
      this.#passedOver = "";
      return;
    }
    if (this.#passedOver === files || this.#shown.has("disk")) return;
    this.#put("disk", "alert",
      made("p", {}, made("strong", {}, `${files} changed on disk `), "since this page read the files. The answer is still that of the files as they were; nothing can be put into them meanwhile."),
      buttons(
        ["Read them again, and keep my changes", () => open("read_again")],
        ["Go on with what was read", () => {
          this.#passedOver = files;
          this.clear("disk");
        }],
      ));
  }

  done(...parts) {
    this.#put("done", "status", ...parts, buttons(["Good", () => this.clear("done")]));
  }

  refused(message) {
    this.#put("done", "alert", made("p", {}, message), buttons(["Good", () => this.clear("done")]));
  }

  #put(kind, role, ...children) {
    this.clear(kind);
    const notice = made("div", { class: "notice", role, "data-notice": kind }, ...children);
    this.#shown.set(kind, notice);
    this.#place.append(notice);
  }
}

export function buttons(...pairs) {
  return made("p", { class: "buttons" }, ...pairs.flatMap(([words, act]) => [made("button", { type: "button", onclick: act }, words), " "]));
}

function list(problems) {
  const expected = (one) => (one.expected ? made("span", { class: "expected" }, `expected: ${one.expected}`) : null);
  return made("ul", {}, ...problems.map((one) => made("li", {}, made("code", {}, where(one)), " ", one.text, expected(one))));
}

// The folder stands on top of the page already.
function where(problem) {
  if (!problem.file) return problem.place ?? "";
  const name = problem.file.split(/[/\\]/).pop();
  return problem.line ? `${name}:${problem.line}` : name;
}
