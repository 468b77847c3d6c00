// Elements, with all text put in as text: what stands in the sailor's files is never markup.
export function made(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (typeof value === "boolean") element.toggleAttribute(name, value);
    else if (value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((each) => each !== null && each !== undefined));
  return element;
}

export function heard(words) {
  return made("span", { class: "heard" }, words);
}

let last = 0;

// An id that no other element has.
export function freshId(start) {
  last += 1;
  return `${start}-${last}`;
}

// A number and its unit stay on one line.
export function held(words) {
  return words.replace(/(\d) (?=%|\u00b0|[A-Za-z]{1,3}\b)/g, "$1\u00a0");
}
