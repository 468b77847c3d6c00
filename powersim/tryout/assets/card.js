// The card for the chart table: its pages come as pictures, are shown, and are printed one a sheet.
// They are drawn onto canvases, so that the page's policy need not let in pictures from anywhere.
import { Broken, Mistaken, Superseded } from "./asks.js";
import { made } from "./made.js";

export class Card {
  #with;

  constructor(parts) {
    this.#with = parts;
    parts.card.addEventListener("click", () => this.#open());
    document.getElementById("card-back").addEventListener("click", () => this.#show(false));
    document.getElementById("card-print").addEventListener("click", () => window.print());
  }

  async #open() {
    const { asks, changes, notices, card } = this.#with;
    card.disabled = true;
    card.textContent = "Drawing the card ...";
    try {
      const found = await asks.ask("card", { changes: changes.list() });
      const pages = await Promise.all(found.pages.map(drawn));
      document.getElementById("card-pages").replaceChildren(...pages);
      this.#show(true);
    } catch (trouble) {
      if (trouble instanceof Mistaken) notices.refused(`There is no card of this: ${trouble.inWords}.`);
      else if (trouble instanceof Broken) notices.refused(`There is no card. ${trouble.message}`);
      else if (!(trouble instanceof Superseded)) throw trouble;
    } finally {
      card.disabled = false;
      card.textContent = "The card, to print";
    }
  }

  #show(open) {
    document.getElementById("card").hidden = !open;
    document.body.toggleAttribute("data-card", open);
    (open ? document.getElementById("card-head") : this.#with.card).focus();
  }
}

async function drawn(page) {
  const bytes = Uint8Array.from(atob(page.png), (letter) => letter.charCodeAt(0));
  const picture = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  const canvas = made("canvas", { role: "img", "aria-label": page.words, width: picture.width, height: picture.height });
  canvas.getContext("2d").drawImage(picture, 0, 0);
  canvas.style.setProperty("--wide", `${page.wide_mm}mm`);
  return made("div", { class: "card-page" }, canvas);
}
