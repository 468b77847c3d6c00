// A plain question before something is done that is not undone by a click. Escape means no.
const dialog = document.getElementById("question");
const yes = document.getElementById("question-yes");
let act = null;

yes.addEventListener("click", () => {
  dialog.close();
  act?.();
});
document.getElementById("question-no").addEventListener("click", () => dialog.close());

export function put({ head, text, yes: words, then }) {
  document.getElementById("question-head").textContent = head;
  document.getElementById("question-text").replaceChildren(...text);
  yes.textContent = words;
  act = then;
  dialog.showModal();
  document.getElementById("question-no").focus();
}
