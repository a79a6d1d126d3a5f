/** The lists beside a map: its layers, with samples of their looks, and its numbered places. */
import { LOOKS } from "./looks.js";
import { painterOn } from "./paint.js";
import { aria, build } from "./dom.js";
import { say } from "./say.js";

/**
 * @param {HTMLElement} holder
 * @param {Set<string>} shown  keys of layers
 * @param {(layer: object, on: boolean) => void} toggle
 */
export function listLayers(holder, model, shown, colour, toggle) {
  const sample = (look) => {
    const canvas = aria(build("canvas"), { hidden: "true" });
    if (look in LOOKS) painterOn(canvas, colour).sample(look, 32, 16);
    return canvas;
  };
  holder.replaceChildren(build("legend", { textContent: say("Layers") }), ...model.layers.map((layer) => {
    const box = build("input", { type: "checkbox", checked: shown.has(layer.key), name: layer.key, onchange: () => toggle(layer, box.checked) });
    if (layer.legend.length === 1) {
      const [look, text] = layer.legend[0];
      return build("div", { className: "live-layer" }, build("label", {}, box, sample(look), text ? `${layer.name} (${text})` : layer.name));
    }
    const keys = layer.legend.map(([look, text]) => build("span", { className: "live-key" }, sample(look), text));
    return build("div", { className: "live-layer" }, build("label", {}, box, layer.name), ...keys);
  }));
}

/** Lists places as options whose values are the key of the layer and the number. */
export function listPlaces(select, model) {
  const groups = model.layers.map((layer) => [layer, layer.items.filter((item) => item.ref && item.title)]).filter(([, items]) => items.length > 0);
  select.replaceChildren(build("option", { value: "", textContent: say("a number") }), ...groups.map(([layer, items]) =>
    build("optgroup", { label: layer.name }, ...items.map((item) =>
      build("option", { value: `${layer.key} ${item.number}`, textContent: item.title })))));
  select.parentElement.hidden = groups.length === 0;
}
