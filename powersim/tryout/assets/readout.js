// The picture read moment by moment: by its slider, so by keyboard and screen reader too, or by
// pointing at it. The words come with the picture.
import { held } from "./made.js";

export class ReadOut {
  #moments = [];
  #slider = document.getElementById("moment");
  #told = document.getElementById("told");
  #picture = document.getElementById("picture");

  constructor() {
    this.#slider.addEventListener("input", () => this.#show());
    this.#picture.addEventListener("pointermove", (event) => this.#point(event));
    this.#picture.addEventListener("pointerdown", (event) => this.#point(event));
    window.addEventListener("resize", () => this.#show());
  }

  // A new picture is read at the hour at which the old one was, the first at its lowest charge.
  read() {
    const before = this.#moments[this.#slider.value]?.hour;
    this.#moments = [...this.#picture.querySelectorAll(".moments li")].map((each) => ({
      hour: Number(each.dataset.hour),
      words: held(each.textContent),
      worst: "worst" in each.dataset,
    }));
    this.#slider.max = Math.max(this.#moments.length - 1, 0);
    const worst = this.#moments.findIndex((each) => each.worst);
    this.#slider.value = before === undefined ? Math.max(worst, 0) : this.#nearest(before);
    this.#show();
  }

  #nearest(hour) {
    let found = 0;
    this.#moments.forEach((each, at) => {
      if (Math.abs(each.hour - hour) < Math.abs(this.#moments[found].hour - hour)) found = at;
    });
    return found;
  }

  #show() {
    const moment = this.#moments[this.#slider.value];
    if (!moment) return;
    this.#told.textContent = moment.words;
    this.#slider.setAttribute("aria-valuetext", moment.words);
    for (const svg of this.#picture.querySelectorAll("svg")) {
      const { left, across, hours } = numbers(svg);
      const line = svg.querySelector(".cursor");
      line.setAttribute("transform", `translate(${(across * moment.hour) / hours})`);
      line.setAttribute("visibility", "visible");
      if (svg.getClientRects().length > 0) {
        const wide = svg.viewBox.baseVal.width;
        this.#slider.style.setProperty("--left", `${(100 * left) / wide}%`);
        this.#slider.style.setProperty("--across", `${(100 * across) / wide}%`);
      }
    }
  }

  #point(event) {
    const svg = event.target.closest("svg");
    if (!svg || this.#moments.length === 0) return;
    const { left, across, hours } = numbers(svg);
    const box = svg.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * svg.viewBox.baseVal.width;
    this.#slider.value = this.#nearest(((x - left) / across) * hours);
    this.#show();
  }
}

function numbers(svg) {
  return { left: Number(svg.dataset.left), across: Number(svg.dataset.across), hours: Number(svg.dataset.hours) };
}
