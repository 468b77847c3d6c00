// What a page looks like to someone who cannot see it well, as lists of faults. Rules of the Web
// Content Accessibility Guidelines 2.2 (W3C, 2023): 1.1.1, 1.3.1, 1.4.3, 2.4.4, 2.4.6, 3.1.1, 4.1.2.
(() => {
  const faults = [];
  const shown = (element) => element.getClientRects().length > 0;
  const text = (element) => element.textContent.replace(/\s+/g, " ").trim();

  const heads = [...document.querySelectorAll("h1,h2,h3,h4,h5,h6")].map((h) => +h.tagName[1]);
  if (heads.filter((level) => level === 1).length !== 1) faults.push("not one h1");
  heads.forEach((level, i) => {
    if (i > 0 && level > heads[i - 1] + 1) faults.push(`h${level} after h${heads[i - 1]}`);
  });
  if (heads[0] !== 1) faults.push("the first heading is no h1");
  if (!document.documentElement.lang) faults.push("no language");
  if (!document.title) faults.push("no title");
  if (document.querySelectorAll("main").length !== 1) faults.push("not one main");

  for (const svg of document.querySelectorAll("svg")) {
    const named = (svg.getAttribute("aria-labelledby") || "").split(" ");
    const words = named.map((id) => document.getElementById(id)).filter(Boolean).map(text);
    if (svg.getAttribute("role") !== "img" || words.length < 2 || words.some((w) => w.length < 10))
      faults.push(`a picture without words: ${words}`);
  }
  for (const img of document.querySelectorAll("img"))
    if (!img.alt) faults.push("an image without words");
  for (const table of document.querySelectorAll("table")) {
    const name = table.caption ? text(table.caption) : "";
    if (!name) faults.push("a table without caption");
    for (const th of table.querySelectorAll("th"))
      if (!["row", "col", "colgroup"].includes(th.scope)) faults.push(`${name}: a head without scope`);
    const across = (row) => [...row.cells].reduce((sum, cell) => sum + cell.colSpan, 0);
    const widths = new Set([...table.rows].map(across));
    if (widths.size !== 1) faults.push(`${name}: rows of different lengths`);
    if (table.rows.length < 2) faults.push(`${name}: no rows`);
  }
  for (const link of document.querySelectorAll("a")) {
    if (!text(link)) faults.push("a link without words");
    const target = link.getAttribute("href");
    if (!target.startsWith("#") || !document.querySelector(target))
      faults.push(`a link to nowhere: ${target}`);
  }
  for (const region of document.querySelectorAll("[role=region]"))
    if (!region.getAttribute("aria-label")) faults.push("a region without a name");
  const ids = [...document.querySelectorAll("[id]")].map((element) => element.id);
  if (new Set(ids).size !== ids.length) faults.push("a name that is there twice");

  // 1.4.3: 4.5 to 1 for words, 3 to 1 for large ones; luminance as in its definition.
  const channel = (c) => ((c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
  const luminance = ([r, g, b]) =>
    0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const numbers = (color) => (color.match(/[\d.]+/g) || []).map(Number);
  const behind = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const c = numbers(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] === 1) return c;
    }
    return [255, 255, 255];
  };
  let looked = 0;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    if (!node.data.trim() || !shown(element)) continue;
    if (["title", "desc", "style"].includes(element.tagName.toLowerCase())) continue;
    const style = getComputedStyle(element);
    const fore = element instanceof SVGElement ? style.fill : style.color;
    const [one, two] = [luminance(numbers(fore)), luminance(behind(element))];
    const ratio = (Math.max(one, two) + 0.05) / (Math.min(one, two) + 0.05);
    const large = parseFloat(style.fontSize) >= 24;
    looked += 1;
    if (ratio < (large ? 3 : 4.5)) faults.push(`contrast ${ratio.toFixed(2)}: ${node.data.trim()}`);
  }
  return { faults, looked };
})();
