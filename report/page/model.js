/**
 * The data of a map, and its shapes laid out in metres.
 *
 * Coordinates come as whole numbers of 1e-7 degrees (about 1 cm), longitude and
 * latitude by turns in one flat list: the first pair counts from the origin,
 * every other from the pair before it.
 *
 * @typedef {Object} MapData
 * @property {string} title       names the map to those who hear it
 * @property {[number, number]} origin  longitude and latitude, degrees on WGS 84
 * @property {[number, number, number, number]} extent  what to show first: west,
 *   south, east, north, in 1e-7 degrees from the origin
 * @property {Units} units
 * @property {Layer[]} layers     in the order in which they are listed
 *
 * @typedef {Object} Units        how lengths are shown: [metres, name, decimals]
 * @property {string} thousands  the sign between thousands
 * @property {string} point      the decimal sign
 * @property {[number, string, number]} length
 * @property {[number, string, number]} far  for long scale bars
 * @property {[number, string, number]} gsd  of a pixel on the ground
 *
 * @typedef {Object} Layer
 * @property {string} key         stable; it names the layer in events
 * @property {string} name        for people
 * @property {boolean} [off]      not shown at first
 * @property {[look: string, text: string][]} legend
 * @property {Item[]} [items]
 * @property {Dots} [dots]
 *
 * @typedef {Object} Item         a place with figures, or a mere drawing
 * @property {string} look        how it is drawn: a key of LOOKS
 * @property {number[][]} [rings] areas, by the even-odd rule
 * @property {number[][]} [paths] open lines
 * @property {number[]} [at]      the place that the label names, or of a mark
 * @property {string} [ref]       its number, as in a table
 * @property {string} [label]     what stands on the map; ref if left out
 * @property {string} [title]     what it is; an item without one has no figures
 * @property {string[]} [text]    its figures
 *
 * @typedef {Object} Dots         many small places; null is unknown
 * @property {string} look
 * @property {string} noun        what one of them is
 * @property {number[]} at
 * @property {string[]} names
 * @property {(?number)[]} times  seconds since 1970, each from the one known before it
 * @property {string} zone        follows a time
 * @property {(?number)[]} heights  decimetres above ground
 * @property {(?number)[]} gsds   0.01 mm a pixel
 */
import { say } from "./say.js";
import { frameAt } from "./view.js";

const UNIT = 1e-7;

/** @param {MapData} data */
export function modelOf(data) {
  const frame = frameAt(data.origin[0], data.origin[1]);
  const east = frame.perLon * UNIT, north = frame.perLat * UNIT;
  const [w, s, e, n] = data.extent;
  let places = 0;
  const decode = (flat) => {
    places += flat.length / 2;
    return metres(flat, east, north);
  };
  const layers = data.layers.map((layer) => layerOf(layer, decode));
  return { data, frame, extent: [w * east, s * north, e * east, n * north], layers, places };
}

function metres(flat, east, north) {
  const out = new Float64Array(flat.length);
  for (let i = 0, x = 0, y = 0; i < flat.length; i += 2) {
    out[i] = (x += flat[i]) * east;
    out[i + 1] = (y += flat[i + 1]) * north;
  }
  return out;
}

function layerOf(layer, decode) {
  const items = (layer.items ?? []).map((item, index) => itemOf(layer, item, index, decode));
  const dots = layer.dots && { ...layer.dots, layer, xy: decode(layer.dots.at), times: summed(layer.dots.times) };
  return { ...layer, items, dots };
}

function itemOf(layer, item, index, decode) {
  const rings = (item.rings ?? []).map(decode), paths = (item.paths ?? []).map(decode);
  const at = item.at?.length ? decode(item.at) : null;
  const lines = [...rings, ...paths];
  if (at) lines.push(at);
  return {
    ...item, layer, number: index + 1, rings, paths, at, label: item.label ?? item.ref,
    boxes: rings.map((ring) => boxOfLines([ring])), box: boxOfLines(lines),
  };
}

function boxOfLines(lines) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const line of lines) {
    for (let i = 0; i < line.length; i += 2) {
      box[0] = Math.min(box[0], line[i]);
      box[1] = Math.min(box[1], line[i + 1]);
      box[2] = Math.max(box[2], line[i]);
      box[3] = Math.max(box[3], line[i + 1]);
    }
  }
  return box;
}

function summed(steps) {
  let sum = 0;
  return steps.map((step) => step === null ? null : (sum += step));
}

/** The figures of one dot, as those of an item. */
export function dotItem(units, dots, i) {
  const text = [];
  if (dots.times[i] !== null) text.push(clock(dots.times[i]) + dots.zone);
  if (dots.heights[i] !== null) text.push(say("height %s", inUnits(units, units.length, dots.heights[i] / 10)));
  if (dots.gsds[i] !== null) text.push(say("GSD %s", inUnits(units, units.gsd, dots.gsds[i] / 1e5)));
  const at = dots.xy.subarray(2 * i, 2 * i + 2);
  return { layer: dots.layer, number: i + 1, look: dots.look, title: `${dots.noun} ${dots.names[i]}`, text, at, rings: [], paths: [], box: [at[0], at[1], at[0], at[1]] };
}

function clock(seconds) {
  return new Date(seconds * 1000).toISOString().slice(0, 19).replace("T", " ");
}

/** Metres as "82.0 m". @param {Units} units @param {[number, string, number]} unit */
function inUnits(units, [metresEach, name, decimals], length) {
  return `${signed(units, (length / metresEach).toFixed(decimals))} ${name}`;
}

/** The digits of a number, with the signs of its readers. @param {Units} units */
export function signed({ thousands, point }, digits) {
  const [whole, part] = digits.split(".");
  return whole.replace(/\B(?=(\d{3})+$)/g, thousands) + (part ? point + part : "");
}

/**
 * What lies within reach, in metres, of a place of the plane: what has a number
 * first, and of each kind marks and dots, lines, then areas from small to large.
 */
export function itemsAt(model, shown, x, y, reach) {
  const near = [], on = [], around = [];
  for (const layer of model.layers) {
    if (!shown.has(layer.key)) continue;
    if (layer.dots) {
      const i = nearestDot(layer.dots.xy, x, y, reach);
      if (i >= 0) near.push(dotItem(model.data.units, layer.dots, i));
    }
    for (const item of layer.items) {
      const [west, south, east, north] = item.box;
      if (!item.title || x < west - reach || x > east + reach || y < south - reach || y > north + reach) continue;
      if (item.rings.length > 0) {
        if (inRings(item, x, y)) around.push(item);
      } else if (item.paths.length > 0) {
        if (item.paths.some((path) => fromPath(path, x, y) <= reach)) on.push(item);
      } else if (item.at && Math.hypot(item.at[0] - x, item.at[1] - y) <= reach) {
        near.push(item);
      }
    }
  }
  const size = ({ box }) => (box[2] - box[0]) * (box[3] - box[1]);
  const away = ({ at }) => Math.hypot(at[0] - x, at[1] - y);
  near.sort((a, b) => away(a) - away(b));
  around.sort((a, b) => size(a) - size(b));
  const all = [...near, ...on, ...around];
  return [...all.filter((item) => item.ref), ...all.filter((item) => !item.ref)];
}

function nearestDot(xy, x, y, reach) {
  let best = -1, least = reach * reach;
  for (let i = 0; i < xy.length; i += 2) {
    const dx = xy[i] - x, dy = xy[i + 1] - y, d = dx * dx + dy * dy;
    if (d <= least) [best, least] = [i / 2, d];
  }
  return best;
}

function inRings({ rings, boxes }, x, y) {
  let inside = false;
  rings.forEach((r, k) => {
    const box = boxes[k];
    if (y < box[1] || y > box[3] || x > box[2]) return;
    for (let i = 0, j = r.length - 2; i < r.length; j = i, i += 2) {
      if (r[i + 1] > y !== r[j + 1] > y && x < r[i] + (y - r[i + 1]) / (r[j + 1] - r[i + 1]) * (r[j] - r[i])) inside = !inside;
    }
  });
  return inside;
}

function fromPath(path, x, y) {
  let least = Math.hypot(path[0] - x, path[1] - y);
  for (let i = 2; i < path.length; i += 2) {
    const ax = path[i - 2], ay = path[i - 1], dx = path[i] - ax, dy = path[i + 1] - ay;
    const along = Math.min(Math.max(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1), 0), 1);
    least = Math.min(least, Math.hypot(ax + along * dx - x, ay + along * dy - y));
  }
  return least;
}
