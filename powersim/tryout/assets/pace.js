// When an answer is asked for: at once after a tick; when the hand rests, of what is typed; and of
// steps, which come fast while a key is held down, the newest as soon as the answer before is there.
const REST_MS = 250;

export class Pace {
  #work;
  #timer = null;
  #running = 0;
  #again = false;
  #newest = 0;

  constructor(work) {
    this.#work = work;
  }

  isNewest(number) {
    return number === this.#newest;
  }

  begin(how) {
    clearTimeout(this.#timer);
    this.#again = false;
    if (how === "typed") this.#timer = setTimeout(() => this.#start(), REST_MS);
    else if (how === "stepped" && this.#running > 0) this.#again = true;
    else this.#start();
  }

  async #start() {
    // Numbers grow for ever, over reloads and tabs: the larger is the newer.
    this.#newest = Math.max(this.#newest + 1, Date.now());
    this.#running += 1;
    try {
      await this.#work(this.#newest);
    } finally {
      this.#running -= 1;
      if (this.#again && this.#running === 0) {
        this.#again = false;
        this.#start();
      }
    }
  }
}
