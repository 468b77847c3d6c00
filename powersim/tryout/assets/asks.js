// Questions to the server, and the four ways in which there is no answer.

// The sailor's mistakes, each with its place, text and what is expected.
export class Mistaken extends Error {
  constructor(problems) {
    super("mistakes");
    this.problems = problems;
  }

  get inWords() {
    return this.problems.map((one) => one.text).join("; ");
  }
}

// A newer question has broken this one off.
export class Superseded extends Error {}

// There is no answer, and why in words; whether there will be none any more.
export class Broken extends Error {
  constructor(message, ended = false) {
    super(message);
    this.ended = ended;
  }
}

const ENDED =
  "The program behind this page has ended, so nothing is worked out any more. " +
  "Start it again in a terminal, with powersim try and the folder.";
const NO_KEY =
  "This page has no key to the program behind it. Open the address that the terminal shows, " +
  "as a whole, or start powersim try again.";

export class Asks {
  #key;
  // So that a page in another tab breaks off none of our questions, nor we of its.
  #page = Math.random().toString(36).slice(2);

  constructor(key) {
    this.#key = key;
  }

  get hasKey() {
    return Boolean(this.#key);
  }

  async ask(question, body) {
    let response;
    let found;
    try {
      response = await fetch(`/ask/${question}`, {
        method: "POST",
        headers: { "Content-Type": "application/json", "Powersim-Key": this.#key },
        body: JSON.stringify({ ...body, page: this.#page }),
      });
      found = await response.json();
    } catch {
      throw new Broken(ENDED, true);
    }
    if (response.ok) return found;
    if (response.status === 422) throw new Mistaken(found.problems);
    if (response.status === 409 && found.superseded) throw new Superseded();
    if (response.status === 403) throw new Broken(NO_KEY, true);
    throw new Broken(found.refused ?? faultTold(found.fault));
  }
}

function faultTold(fault) {
  return `This is our own mistake, and no answer: ${fault ?? "no reason was given"}. What you changed is still here.`;
}
