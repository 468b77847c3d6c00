// One quiet voice for a screen reader: what came out, once the hand rests. While a value is moved
// answers follow each other faster than they can be said, and only the last of them counts.
const REST_MS = 700;
let timer = null;
let minded = [];

// What was to be minded already is not said again at every step.
export function say(words, minds = []) {
  clearTimeout(timer);
  timer = setTimeout(() => {
    const fresh = minds.filter((each) => !minded.includes(each));
    minded = minds;
    const said = document.getElementById("said");
    const whole = [words, ...fresh].join(" ");
    if (said.textContent !== whole) said.textContent = whole;
  }, REST_MS);
}
