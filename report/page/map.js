/**
 * An interactive map of a site, drawn on canvas in a page's own palette. It
 * loads nothing and knows nothing of the page around it.
 *
 *   const map = mountMap(element, data, { link });
 *   element.addEventListener("mapselect", ({ detail }) => …);
 *   map.update(newData); map.select("zones", 3); map.destroy();
 *
 * The data are described in model.js, the looks of its layers in looks.js; the
 * style is map.css.
 */
import { boxOf, degreesAt, dragged, fitted, meet, onPlane, positionText, roundLength, showing, zoomed } from "./view.js";
import { inUnits, itemsAt, modelOf } from "./model.js";
import { LOOKS, colourer } from "./looks.js";
import { painterOn } from "./paint.js";
import { tagsIn } from "./tags.js";
import { gesturesOn } from "./gestures.js";
import { aria, build } from "./dom.js";

const CLOSEST = 50; // pixels a metre

/**
 * @param {HTMLElement} element  receives the map as its last child
 * @param {import("./model.js").MapData} data
 * @param {Object} [options]
 * @param {"focused" | "always"} [options.wheel]  when the wheel enlarges; it scrolls the page otherwise
 * @param {(item: object) => ?{text: string, go: () => void}} [options.link]  leads from a selected item to elsewhere
 * @fires mapselect on the element, with {layer, number, item} in detail; item is null when nothing is selected any more
 */
export function mountMap(element, data, options = {}) {
  let model = modelOf(data), shown = new Set(model.layers.filter((l) => !l.off).map((l) => l.key));
  let view = fitted(model.extent, 1, 1), whole = true;
  let selected = null, beside = [], pointed = [], pointer = null, due = 0;

  const ground = build("canvas"), marks = build("canvas");
  const holder = build("div", { className: "live-tags" });
  const figures = build("div", { className: "live-figures", hidden: true });
  const north = aria(build("div", { className: "live-north", textContent: "N" }), { hidden: "true" });
  const cross = aria(build("div", { className: "live-cross" }), { hidden: "true" });
  const plot = build("div", { className: "live-plot", tabIndex: 0 }, ground, marks, cross, holder, north, figures);
  const bar = build("span", { className: "live-bar" }), barText = build("span"), place = build("span", { className: "live-place" });
  const spoken = aria(build("div", { className: "live-spoken" }), { role: "status" });
  const layers = build("fieldset", { className: "live-layers" }), jump = build("select");
  const tool = (text, name, press) => aria(build("button", { type: "button", textContent: text, onclick: press }), { label: name });
  const tools = aria(build("div", { className: "live-tools" },
    tool("+", "Enlarge", () => zoom(1.5)), tool("−", "Reduce", () => zoom(1 / 1.5)), tool("All", "Show all", all)), { role: "group", label: "Size of the map" });
  const keys = build("p", { className: "live-keys", id: "live-keys" },
    "Drag to move. With the map in focus, the wheel or + and − change its size, arrows move it, 0 shows all, N and P go from number to number, Enter reads what lies in the middle.");
  const root = build("div", { className: "live-map" },
    build("div", { className: "live-frame" }, plot, tools),
    build("div", { className: "live-foot" }, build("span", { className: "live-scale" }, bar, barText), place),
    build("div", { className: "live-choices" }, layers, build("label", { className: "live-jump" }, "Go to ", jump)),
    keys, spoken);
  aria(plot, { role: "application", roledescription: "map", describedby: "live-keys" });
  element.append(root);

  const colour = colourer(root);
  const groundPainter = painterOn(ground, colour), markPainter = painterOn(marks, colour);
  const tags = tagsIn(holder, { take: (item) => choose(item, { stay: true }), point: (item) => point(item ? [item] : []) });

  const limits = () => {
    const whole = fitted(model.extent, view.width, view.height).scale;
    return [Math.min(whole / 8, CLOSEST), Math.max(CLOSEST, whole)];
  };
  const numbered = () => model.layers.filter((l) => shown.has(l.key)).flatMap((l) => l.items.filter((item) => item.label));

  function redraw() {
    due ||= requestAnimationFrame(() => {
      due = 0;
      groundPainter.draw(model, shown, view);
      const legs = tags.place(numbered(), view, selected);
      const item = pointed[0] ?? selected;
      markPainter.clear();
      if (item) markPainter.outline(item, view);
      markPainter.leaders(legs);
      drawFoot();
    });
  }

  /** The position is that of the pointer, or of the middle without one. */
  function drawFoot() {
    const [x, y] = pointer ? onPlane(view, ...pointer) : [view.x, view.y];
    place.textContent = positionText(...degreesAt(model.frame, x, y));
    const { length, far } = data.units, most = Math.min(200, view.width / 3) / view.scale;
    const unit = most / far[0] >= 1 ? far : length, round = roundLength(most / unit[0]);
    bar.style.width = `${(round * unit[0] * view.scale).toFixed(1)}px`;
    barText.textContent = `${round < 1 ? round : round.toLocaleString("en")} ${unit[1]}`;
  }

  function show(next, isWhole = false) {
    [view, whole] = [next, isWhole];
    redraw();
  }
  function all() {
    show(fitted(model.extent, view.width, view.height), true);
  }
  function zoom(factor, left = view.width / 2, top = view.height / 2) {
    show(zoomed(view, factor, left, top, limits()));
  }

  function showFigures() {
    const items = pointed.length > 0 ? pointed : selected ? [selected, ...beside] : [];
    figures.hidden = items.length === 0;
    figures.replaceChildren(...items.slice(0, 3).map((item) =>
      build("p", {}, build("b", { textContent: item.title }), (item.text ?? []).map((t) => ` · ${t}`).join(""))));
    const link = items[0] === selected && selected && options.link?.(selected);
    if (link) figures.append(build("button", { type: "button", className: "live-link", textContent: link.text, onclick: link.go }));
  }

  function point(items) {
    pointed = items;
    showFigures();
    redraw();
  }

  /** Selects an item, with others that lie in the same place; the view goes to it unless it stays. */
  function choose(item, { others = [], stay = false, say = true } = {}) {
    [selected, beside, pointed] = [item, others, []];
    if (item) {
      if (!shown.has(item.layer.key)) {
        shown.add(item.layer.key);
        listLayers();
      }
      if (!stay) show(showing(view, item.box, limits()));
      if (say) spoken.textContent = [item.title, ...item.text ?? []].join(", ");
    }
    jump.value = item?.ref ? `${item.layer.key} ${item.number}` : "";
    showFigures();
    redraw();
    element.dispatchEvent(new CustomEvent("mapselect", { detail: { layer: item?.layer.key, number: item?.number, item } }));
  }

  function select(key, number) {
    const item = model.layers.find((l) => l.key === key)?.items[number - 1];
    choose(item ?? null);
    return item !== undefined;
  }

  function at(left, top, reach) {
    return itemsAt(model, shown, ...onPlane(view, left, top), reach / view.scale);
  }

  function step(by) {
    const items = numbered();
    if (items.length === 0) return;
    const now = items.indexOf(selected);
    const next = items[now < 0 ? (by > 0 ? 0 : items.length - 1) : (now + by + items.length) % items.length];
    choose(next, { say: false });
    tags.place(items, view, selected);
    tags.focus(next);
  }

  const release = gesturesOn(plot, {
    drag: (right, down) => show(dragged(view, right, down)),
    zoom, all, step,
    tap(left, top, touch) {
      plot.focus({ preventScroll: true });
      const [item = null, ...others] = at(left, top, touch ? 16 : 8);
      choose(item, { others, stay: true });
    },
    hover(left, top) {
      pointer = [left, top];
      point(at(left, top, 7));
    },
    leave() {
      pointer = null;
      point([]);
    },
    read() {
      const [item = null, ...others] = at(view.width / 2, view.height / 2, 16);
      choose(item, { others, stay: true });
      if (!item) spoken.textContent = "Nothing lies in the middle.";
    },
    escape() {
      choose(null);
      plot.focus({ preventScroll: true });
    },
  }, options.wheel ?? "focused");

  jump.onchange = () => {
    const [key, number] = jump.value.split(" ");
    select(key, Number(number));
  };

  function listLayers() {
    layers.replaceChildren(build("legend", { textContent: "Layers" }), ...model.layers.map((layer) => {
      const box = build("input", {
        type: "checkbox", checked: shown.has(layer.key), name: layer.key,
        onchange() {
          shown[box.checked ? "add" : "delete"](layer.key);
          if (selected?.layer === layer && !box.checked) choose(null);
          redraw();
        },
      });
      return build("div", { className: "live-layer" }, build("label", {}, box, layer.name),
        ...layer.legend.map(([look, text]) => build("span", { className: "live-key" }, sample(look), text)));
    }));
  }

  function sample(look) {
    const canvas = aria(build("canvas"), { hidden: "true" });
    if (look in LOOKS) painterOn(canvas, colour).sample(look, 32, 16);
    return canvas;
  }

  function listPlaces() {
    const groups = model.layers.map((l) => [l, l.items.filter((item) => item.ref && item.title)]).filter(([, items]) => items.length > 0);
    jump.replaceChildren(build("option", { value: "", textContent: "a number" }), ...groups.map(([layer, items]) =>
      build("optgroup", { label: layer.name }, ...items.map((item) =>
        build("option", { value: `${layer.key} ${item.number}`, textContent: item.title })))));
    jump.parentElement.hidden = groups.length === 0;
  }

  function load() {
    aria(plot, { label: model.data.title });
    tags.clear();
    listLayers();
    listPlaces();
  }

  const sizes = new ResizeObserver(() => {
    const { clientWidth: width, clientHeight: height } = plot;
    if (width === 0 || height === 0) return;
    groundPainter.resize(width, height);
    markPainter.resize(width, height);
    show(whole ? fitted(model.extent, width, height) : { ...view, width, height }, whole);
  });
  sizes.observe(plot);
  load();

  return {
    /** Shows other data in the same view, with the same layers on. */
    update(next) {
      const [lon, lat] = degreesAt(model.frame, view.x, view.y), known = new Set(model.layers.map((l) => l.key));
      model = modelOf(data = next);
      for (const layer of model.layers) if (!known.has(layer.key) && !layer.off) shown.add(layer.key);
      const { frame } = model, turned = lon - frame.lon - 360 * Math.round((lon - frame.lon) / 360);
      view = { ...view, x: turned * frame.perLon, y: (lat - frame.lat) * frame.perLat };
      load();
      if (!selected || !select(selected.layer.key, selected.number)) choose(null);
      if (whole) all();
    },
    select,
    destroy() {
      cancelAnimationFrame(due);
      sizes.disconnect();
      release();
      root.remove();
    },
  };
}
