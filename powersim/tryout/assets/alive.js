// A word to the server now and then, so that it knows that a page is open, and hears whether files
// were changed on disk meanwhile.
import { Broken } from "./asks.js";

const EVERY_MS = 20_000;

export function keepAlive(asks, notices, open) {
  async function ask() {
    try {
      const found = await asks.ask("alive", {});
      if (notices.hasEnded) open();
      else notices.disk(found.state, open);
    } catch (trouble) {
      if (!(trouble instanceof Broken)) throw trouble;
      if (trouble.ended) notices.ended(trouble.message);
    }
  }
  setInterval(ask, EVERY_MS);
  // Files are edited in another window: on coming back it is seen at once.
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") ask();
  });
  window.addEventListener("focus", ask);
}
