/**
 * The numbers on the map: buttons that keep apart from each other, the first
 * ones first. One that finds no room is left out until the map is enlarged.
 */
import { boxOf, meet, onScreen } from "./view.js";
import { build } from "./dom.js";

const HEIGHT = 24, MOST = 120;

// Where a label may stand, in pixels from what it names; on a narrow map close
// by only.
const NEAR = ringOf(26), PLACES = [...NEAR, ...ringOf(44), ...ringOf(66)], NARROW = 480;

function ringOf(far) {
  return [...Array(8).keys()].map((k) => {
    const angle = (k * 45 - 90) * Math.PI / 180;
    return [far * Math.cos(angle), far * Math.sin(angle)];
  });
}

/**
 * @param {HTMLElement} holder
 * @param {{take: (item: object) => void, point: (item: ?object) => void}} on
 *   take is called for the one pressed, point for the one under the pointer or in focus
 */
export function tagsIn(holder, on) {
  const buttons = new Map();
  let kept = new Map(), scale = 0; // where labels stood at a scale

  function buttonOf(item) {
    if (!buttons.has(item)) {
      const button = build("button", {
        type: "button", className: `live-tag live-tag-${item.layer.key}`, tabIndex: -1, textContent: item.label,
        onclick: () => on.take(item), onfocus: () => on.point(item), onblur: () => on.point(null),
        onpointerenter: () => on.point(item), onpointerleave: () => on.point(null),
      });
      button.setAttribute("aria-label", [item.title, ...item.text ?? []].join(", "));
      buttons.set(item, button);
      holder.append(button);
    }
    return buttons.get(item);
  }

  return {
    /** Shows the labels of items that a view holds; returns the legs to those that stand aside. */
    place(items, view, chosen) {
      const [west, south, east, north] = boxOf(view), spare = (east - west) / 4;
      const about = [west - spare, south - spare, east + spare, north + spare];
      const taken = [], legs = [], shown = new Set();
      if (view.scale !== scale) [kept, scale] = [new Map(), view.scale];
      const wanted = items.filter((item) => item.label && item.at && meet(about, [...item.at, ...item.at]));
      const first = wanted.slice(0, MOST);
      if (chosen?.label && chosen.at) first.unshift(chosen);
      for (const item of first) {
        if (shown.has(item)) continue;
        const [x, y] = onScreen(view, item.at[0], item.at[1]);
        const place = roomFor(item, x, y, view, taken, kept.get(item)) ?? (item === chosen ? PLACES[0] : null);
        if (!place) continue;
        kept.set(item, place);
        const left = x + place[0], top = y + place[1];
        taken.push([left, top, widthOf(item)]);
        shown.add(item);
        buttonOf(item).style.transform = `translate(${left.toFixed(1)}px, ${top.toFixed(1)}px) translate(-50%, -50%)`;
        if (place[0] !== 0 || place[1] !== 0) legs.push([x, y, left, top]);
      }
      for (const [item, button] of buttons) {
        button.hidden = !shown.has(item);
        button.classList.toggle("chosen", item === chosen);
      }
      return legs;
    },

    focus: (item) => buttons.get(item)?.focus({ preventScroll: true }),

    clear() {
      holder.replaceChildren();
      buttons.clear();
    },
  };
}

const widthOf = (item) => Math.max(HEIGHT, 12 + 8.5 * item.label.length);

/** A label may stand upon an area much larger than itself; it stays where it was, if it can. */
function roomFor(item, x, y, view, taken, before) {
  const width = widthOf(item), [west, south, east, north] = item.box;
  const places = view.width < NARROW ? NEAR : PLACES;
  const upon = item.rings.length > 0 && Math.min(east - west, north - south) * view.scale > 3 * HEIGHT && !item.aside;
  const free = ([dx, dy]) => taken.every(([left, top, other]) =>
    Math.abs(x + dx - left) >= (width + other) / 2 + 2 || Math.abs(y + dy - top) >= HEIGHT + 2);
  if (before && free(before)) return before;
  return (upon ? [[0, 0], ...places] : places).find(free);
}
