// A value one step further, its unit and all that stands behind the number kept as typed.
const NUMBER = /^\s*([-+]?(?:\d+\.?\d*|\.\d+))(.*)$/s;
const DATE = /^\s*(\d{4})-(\d{2})-(\d{2})(.*)$/s;
const DAY_MS = 86_400_000;

// The text after so many steps; null where there is no number in it to step.
export function stepped(text, step, steps) {
  return step.days ? laterBy(text, step.days * steps) : movedBy(text, step, steps);
}

// The number that a text begins with, for a screen reader; null where it begins with none.
export function numberIn(text, step) {
  const found = text.match(step.days ? DATE : NUMBER);
  if (!found) return null;
  return step.days ? Math.round(midnight(found) / DAY_MS) : Number(found[1]);
}

function movedBy(text, step, steps) {
  const found = text.match(NUMBER);
  if (!found) return null;
  const typed = found[1].split(".")[1]?.length ?? 0;
  let moved = Number(found[1]) + step.by * steps;
  if (step.least !== null) moved = Math.max(moved, step.least);
  if (step.most !== null) moved = Math.min(moved, step.most);
  return `${Number(moved.toFixed(Math.max(step.decimals, typed)))}${found[2]}`;
}

function laterBy(text, days) {
  const found = text.match(DATE);
  if (!found) return null;
  const day = new Date(midnight(found) + days * DAY_MS);
  return Number.isNaN(day.getTime()) ? null : `${day.toISOString().slice(0, 10)}${found[4]}`;
}

function midnight(found) {
  return Date.UTC(Number(found[1]), Number(found[2]) - 1, Number(found[3]));
}
