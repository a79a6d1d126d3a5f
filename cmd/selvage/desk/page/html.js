/** Small helpers for building the page. Text is only ever set as text. */

/**
 * An element. Of its properties, `class` and those with a hyphen are set as
 * attributes, `on…` as listeners, all others as properties.
 */
export function h(name, properties = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key === "class" || key === "for" || key === "role" || key.includes("-")) element.setAttribute(key, value === true ? "" : value);
    else element[key] = value;
  }
  element.append(...children.flat(9).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** Says a sentence to everybody, also to those who hear the page. */
export function say(text) {
  const said = document.getElementById("said");
  said.textContent = "";
  said.textContent = text;
}

let thousands = ",";

/** Sets the sign between thousands; it is that of the sheets. */
export function setThousands(sign) { thousands = sign; }

/** A whole number with the thousands apart, as in the sheets. */
export function count(n) {
  return String(n).replace(/\B(?=(\d{3})+$)/g, thousands);
}

/** A sentence whose figures keep their units on the same line. */
export const tied = (text) => text.replace(/([\d°]) (?=[\p{L}%])/gu, "$1\u00a0");

/** "1 photo", "2,000 photos". */
export function counted(n, one, many) {
  return `${count(n)} ${n === 1 ? one : many}`;
}

/** A table; cells that are numbers stand to the right. */
export function table(head, rows, caption) {
  return h("div", { class: "scroll", tabIndex: 0, role: "region", "aria-label": caption },
    h("table", {},
      h("thead", {}, h("tr", {}, head.map((text, column) => h("th", { scope: "col", class: figures(rows, column) }, text)))),
      h("tbody", {}, rows.map((row) => h("tr", {}, row.map((cell, column) => h("td", { class: figures(rows, column) }, cell)))))));
}

const figures = (rows, column) => rows.every((row) => /^[\d,.’\s]+( (m|ft))?$/.test(row[column])) && "figure";
