/**
 * An interactive map of a site, drawn on canvas in a page's own palette. It
 * loads nothing and knows nothing of the page around it.
 *
 *   const map = mountMap(element, data, { link });
 *   element.addEventListener("mapselect", ({ detail }) => …);
 *   map.update(newData); map.select("zones", 3); map.destroy();
 *
 * The data are described in model.js, the looks of its layers in looks.js; the
 * style is map.css. Nothing moves by itself, so that there is no motion to
 * reduce for those who prefer less.
 */
import { degreesAt, dragged, fitted, onPlane, positionText, roundLength, showing, slideOf, zoomed } from "./view.js";
import { itemsAt, modelOf, signed } from "./model.js";
import { colourer } from "./looks.js";
import { frameWith } from "./frame.js";
import { listLayers, listPlaces } from "./lists.js";
import { painterOn } from "./paint.js";
import { tagsIn } from "./tags.js";
import { gesturesOn } from "./gestures.js";
import { aria, build } from "./dom.js";
import { say } from "./say.js";

const CLOSEST = 50; // pixels a metre
// A map of more places than this takes too long to paint for every frame: while
// it moves, what was painted is moved, and painted anew when it rests.
const LIGHT = 8000, REST = 120; // milliseconds

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
  let painted = null, rest = 0; // the view that the ground shows

  const { root, plot, ground, marks, holder, figures, bar, barText, place, spoken, layers, jump } =
    frameWith({ larger: () => zoom(1.5), smaller: () => zoom(1 / 1.5), all });
  element.append(root);

  const colour = colourer(root);
  const groundPainter = painterOn(ground, colour), markPainter = painterOn(marks, colour);
  const tags = tagsIn(holder, { take: (item) => choose(item, { stay: true }), point: (item) => point(item ? [item] : []) });

  const limits = () => {
    const { scale } = fitted(model.extent, view.width, view.height);
    return [Math.min(scale / 8, CLOSEST), Math.max(CLOSEST, scale)];
  };
  const numbered = () => model.layers.filter((l) => shown.has(l.key)).flatMap((l) => l.items.filter((item) => item.label));

  function redraw() {
    due ||= requestAnimationFrame(() => {
      due = 0;
      drawGround();
      const legs = tags.place(numbered(), view, selected);
      // Ground without a number is all around: its rim is not pointed out.
      const item = pointed.find(({ ref, rings }) => ref || rings.length === 0) ?? selected;
      markPainter.clear();
      if (item) markPainter.outline(item, view);
      markPainter.leaders(legs);
      drawFoot();
    });
  }

  function drawGround() {
    clearTimeout(rest);
    const slid = painted && model.places > LIGHT && slideOf(painted, view);
    ground.style.transform = slid || "";
    if (slid) {
      rest = setTimeout(repaint, REST);
      return;
    }
    // Ground beyond the rim comes into sight before it is painted anew.
    const margin = model.places > LIGHT ? 0.6 : 0;
    const wide = { ...view, width: Math.round(view.width * (1 + margin)), height: Math.round(view.height * (1 + margin)) };
    if (painted?.width !== wide.width || painted?.height !== wide.height) {
      groundPainter.resize(wide.width, wide.height);
      Object.assign(ground.style, {
        width: `${wide.width}px`, height: `${wide.height}px`,
        left: `${(view.width - wide.width) / 2}px`, top: `${(view.height - wide.height) / 2}px`,
      });
    }
    groundPainter.draw(model, shown, wide);
    painted = wide;
  }

  /** Draws anew all that is painted. */
  function repaint() {
    painted = painted && { ...painted, scale: 0 };
    redraw();
  }

  /** The position is that of the pointer, or of the middle without one. */
  function drawFoot() {
    const [x, y] = pointer ? onPlane(view, ...pointer) : [view.x, view.y];
    place.textContent = positionText(...degreesAt(model.frame, x, y));
    const { length, far } = model.data.units, most = Math.min(200, view.width / 3) / view.scale;
    const unit = most / far[0] >= 1 ? far : length, round = roundLength(most / unit[0]);
    bar.style.width = `${(round * unit[0] * view.scale).toFixed(1)}px`;
    barText.textContent = `${signed(model.data.units, String(round))} ${unit[1]}`;
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
    figures.classList.toggle("above", pointer !== null && pointer[1] > view.height * 0.6);
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
        listed();
        repaint();
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
    hover(left, top, dragging) {
      pointer = [left, top];
      if (!dragging) point(at(left, top, 7));
    },
    leave() {
      pointer = null;
      point([]);
    },
    read() {
      const [item = null, ...others] = at(view.width / 2, view.height / 2, 16);
      choose(item, { others, stay: true });
      if (!item) spoken.textContent = say("Nothing lies in the middle.");
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

  const listed = () => listLayers(layers, model, shown, colour, (layer, on) => {
    shown[on ? "add" : "delete"](layer.key);
    if (selected?.layer === layer && !on) choose(null);
    repaint();
  });

  function load() {
    aria(plot, { label: model.data.title });
    tags.clear();
    listed();
    listPlaces(jump, model);
  }

  const sizes = new ResizeObserver(() => {
    const { clientWidth: width, clientHeight: height } = plot;
    if (width === 0 || height === 0) return;
    markPainter.resize(width, height);
    painted = null;
    show(whole ? fitted(model.extent, width, height) : { ...view, width, height }, whole);
  });
  sizes.observe(plot);
  load();

  return {
    /** Shows other data in the same view, with the same layers on. */
    update(next) {
      const [lon, lat] = degreesAt(model.frame, view.x, view.y), known = new Set(model.layers.map((l) => l.key));
      model = modelOf(next);
      for (const layer of model.layers) if (!known.has(layer.key) && !layer.off) shown.add(layer.key);
      const { frame } = model, turned = lon - frame.lon - 360 * Math.round((lon - frame.lon) / 360);
      view = { ...view, x: turned * frame.perLon, y: (lat - frame.lat) * frame.perLat };
      load();
      repaint();
      if (!selected || !select(selected.layer.key, selected.number)) choose(null);
      if (whole) all();
    },
    select,
    destroy() {
      cancelAnimationFrame(due);
      clearTimeout(rest);
      sizes.disconnect();
      release();
      root.remove();
    },
  };
}
