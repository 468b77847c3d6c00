// One quiet voice for a screen reader: what came out, once the hand rests. While a value is moved
// answers follow each other faster than they can be said, and only the last of them counts.
const REST_MS = 700;
let timer = null;

export function say(words) {
  clearTimeout(timer);
  timer = setTimeout(() => {
    const said = document.getElementById("said");
    if (said.textContent !== words) said.textContent = words;
  }, REST_MS);
}
