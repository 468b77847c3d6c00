// Tables of an answer. On a narrow screen each row becomes a block, in which every cell says what it
// is; roles keep it a table for those who hear it.
import { held, made } from "./made.js";

// `heads` are those of the columns beside the first, which names its row.
export function table(caption, heads, ...rows) {
  const head = (words) => made("th", { scope: "col", role: "columnheader" }, words);
  const first = made("td", { role: "cell" });
  return made(
    "table",
    { class: "figures", role: "table" },
    made("caption", {}, held(caption)),
    made("thead", { role: "rowgroup" }, made("tr", { role: "row" }, first, ...heads.map(head))),
    made("tbody", { role: "rowgroup" }, ...rows),
  );
}

// Its cells in the order of the heads; `attributes` say which row it is.
export function row(attributes, name, heads, ...cells) {
  const cell = (words, at) => made("td", { role: "cell", "data-head": heads[at], class: heads[at] === THAN ? "difference" : null }, held(words));
  return made("tr", { role: "row", ...attributes }, made("th", { scope: "row", role: "rowheader" }, name), ...cells.map(cell));
}

// Above differences from what the files say.
export const THAN = "than as the files say";
