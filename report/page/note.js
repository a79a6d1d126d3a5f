/**
 * Puts the interactive map in a coverage note, in place of its picture, and
 * ties the numbers of the tables to it.
 */
import { mountMap } from "./map.js";
import { build, aria } from "./dom.js";

const figure = document.querySelector("figure.mapped"), data = document.getElementById("map-data");
if (figure && data && "ResizeObserver" in window) {
  const cells = new Map(); // of the tables, by layer and number
  const map = mountMap(figure, JSON.parse(data.textContent), {
    link({ layer, ref }) {
      const cell = cells.get(`${layer.key} ${ref}`);
      return cell && {
        text: "Show in the table",
        go() {
          cell.scrollIntoView({ block: "center" });
          cell.querySelector("button").focus({ preventScroll: true });
        },
      };
    },
  });
  figure.classList.add("live");

  for (const layer of JSON.parse(data.textContent).layers.filter((l) => l.table)) {
    const byRef = new Map((layer.items ?? []).map((item, index) => [item.ref, index + 1]));
    for (const cell of document.querySelectorAll(`[aria-labelledby="${layer.table}"] tbody td:first-child`)) {
      const ref = cell.textContent.trim(), number = byRef.get(ref);
      if (number === undefined) continue;
      const text = cell.lastChild;
      const button = aria(build("button", {
        type: "button", className: "live-number", textContent: ref,
        onclick() {
          figure.querySelector(".live-frame").scrollIntoView({ block: "center" });
          map.select(layer.key, number);
        },
      }), { label: `${ref}, show on the map` });
      text.replaceWith(button);
      cells.set(`${layer.key} ${ref}`, cell);
    }
  }
}
