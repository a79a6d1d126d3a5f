/**
 * Puts the interactive map in a sheet, in place of its picture, and ties the
 * numbers of the tables to it: those in the section whose heading has the id
 * that a layer names as its table.
 */
import { mountMap } from "./map.js";
import { aria, build } from "./dom.js";
import { say } from "./say.js";

const figure = document.querySelector("figure.mapped"), source = document.getElementById("map-data");
if (figure && source && "ResizeObserver" in window) {
  const data = JSON.parse(source.textContent), buttons = new Map();
  const name = (key, ref) => `${key} ${ref}`;

  const map = mountMap(figure, data, {
    link({ layer, ref }) {
      const button = buttons.get(name(layer.key, ref));
      return button && {
        text: say("Show in the table"),
        go() {
          button.scrollIntoView({ block: "center" });
          button.focus({ preventScroll: true });
        },
      };
    },
  });
  figure.classList.add("live");

  for (const { key, table, items } of data.layers) {
    const section = table && document.getElementById(table)?.closest("section");
    if (!section) continue;
    const numbers = new Map((items ?? []).map(({ ref }, index) => [ref, index + 1]));
    for (const cell of section.querySelectorAll("tbody tr > :first-child")) {
      const ref = cell.textContent.trim(), number = numbers.get(ref);
      if (number === undefined) continue;
      const button = aria(build("button", { type: "button", className: "live-number" }, ...cell.childNodes), { label: say("%s, show on the map", ref) });
      button.onclick = () => {
        figure.querySelector(".live-frame").scrollIntoView({ block: "center" });
        map.select(key, number);
      };
      cell.append(button);
      buttons.set(name(key, ref), button);
    }
  }
}
