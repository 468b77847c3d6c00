// The key comes in the address's fragment, which no browser sends anywhere. From there it goes into
// this tab's own store, so that the page can be loaded again, and out of the address.
const STORE = "powersim-key";

export function takeKey() {
  const fragment = location.hash.replace(/^#/, "");
  const found = fragment.match(/^(?:key=)?([\w-]{16,})$/);
  if (found) {
    sessionStorage.setItem(STORE, found[1]);
    history.replaceState(null, "", location.pathname);
  }
  return sessionStorage.getItem(STORE);
}
