/**
 * How each kind of thing is drawn, from the ground up: a later look covers an
 * earlier one. Colours are names of custom properties in the page's style, so
 * that a map has the palette of the page around it; widths and dashes are
 * pixels. Looks differ in hatching, dashes or shape as well as in colour.
 *
 * fill and stroke are colours, pattern is hatching in the colour ink or
 * as named, under is a stroke below the stroke, mark is the shape of a place.
 */
export const LOOKS = {
  "flight": { fill: "flight-ground", stroke: "green", width: 1.5 },
  "ground": { fill: "paper" },
  "e0": { fill: "e0" }, "e1": { fill: "e1" }, "e2": { fill: "e2" }, "e3": { fill: "e3" },
  "v0": { fill: "v0" }, "v1": { fill: "v1" }, "v2": { fill: "v2" },
  "thin": { fill: "v2", stroke: "ink", width: 0.75 },
  "no-stereo": { fill: "v1", stroke: "ink", width: 0.75, pattern: "stripe" },
  "gap": { fill: "v0", stroke: "ink", width: 0.75, pattern: "hatch" },
  "coarse": { stroke: "ink", width: 1.2, dash: [1, 3], pattern: "stipple" },
  "one-line": { stroke: "blue", width: 1.4, dash: [5, 3], pattern: "ruled", hatching: "blue" },
  "track": { stroke: "track", width: 1 },
  "photo-0": { mark: "disc", fill: "ink" },
  "photo-1": { mark: "square", fill: "photo-1" },
  "photo-2": { mark: "diamond", fill: "photo-2" },
  "photo-3": { mark: "cross", fill: "photo-3" },
  "keep-out": { stroke: "keep-out", width: 1.6, dash: [2, 3], pattern: "barred", hatching: "keep-out" },
  "site": { stroke: "ink", width: 2 },
  "short": { stroke: "v0", width: 5, under: ["ink", 8] },
  "refly": { stroke: "refly", width: 2.2, dash: [8, 5], under: ["paper", 4] },
  "start": { mark: "start", fill: "paper", stroke: "ink" },
  "well": { mark: "up", fill: "green", stroke: "ink" },
  "weak": { mark: "up", fill: "v1", stroke: "ink" },
  "low": { mark: "down", fill: "v0", stroke: "ink" },
};

/** The colours of a page, by name. @param {Element} element */
export function colourer(element) {
  const style = getComputedStyle(element), known = {};
  return (name) => known[name] ??= style.getPropertyValue(`--${name}`).trim() || "#18222c";
}

const TILE = 8;
const HATCHING = {
  stripe: (c) => slanted(c, 1),
  hatch: (c) => { slanted(c, 1); slanted(c, -1); },
  barred: (c) => slanted(c, -1),
  ruled: (c) => { c.moveTo(0, TILE / 2); c.lineTo(TILE, TILE / 2); },
  stipple: (c) => { c.rect(1, 1, 1, 1); c.rect(5, 5, 1, 1); },
};

function slanted(c, way) {
  for (const shift of [-TILE, 0, TILE]) {
    c.moveTo(shift - 1, way > 0 ? -1 : TILE + 1);
    c.lineTo(shift + TILE + 1, way > 0 ? TILE + 1 : -1);
  }
}

/** Hatching that keeps its size at any scale; ratio is device pixels a pixel. */
export function hatching(name, colour, ratio) {
  const tile = document.createElement("canvas");
  tile.width = tile.height = Math.round(TILE * ratio);
  const c = tile.getContext("2d");
  c.scale(tile.width / TILE, tile.width / TILE);
  c.strokeStyle = colour;
  c.globalAlpha = 0.7;
  c.beginPath();
  HATCHING[name](c);
  c.stroke();
  return tile;
}

const SHAPES = {
  disc: (c, x, y, r) => {
    c.moveTo(x + r, y);
    c.arc(x, y, r, 0, 2 * Math.PI);
  },
  square: (c, x, y, r) => c.rect(x - r, y - r, 2 * r, 2 * r),
  start: (c, x, y) => c.rect(x - 5, y - 5, 10, 10),
  diamond: (c, x, y, r) => polygon(c, x, y, [[0, -1.4 * r], [1.4 * r, 0], [0, 1.4 * r], [-1.4 * r, 0]]),
  cross: (c, x, y, r) => {
    c.rect(x - 1.4 * r, y - r / 2, 2.8 * r, r);
    c.rect(x - r / 2, y - 1.4 * r, r, 2.8 * r);
  },
  up: (c, x, y) => polygon(c, x, y, [[0, -7], [6, 4], [-6, 4]]),
  down: (c, x, y) => polygon(c, x, y, [[0, 7], [6, -4], [-6, -4]]),
};

function polygon(c, x, y, corners) {
  corners.forEach(([dx, dy], i) => i === 0 ? c.moveTo(x + dx, y + dy) : c.lineTo(x + dx, y + dy));
  c.closePath();
}

/** Adds a mark to the path at hand; size is half that of a dot. */
export function addMark(c, mark, x, y, size) {
  SHAPES[mark](c, x, y, size);
}
