/**
 * Paints layers on a canvas. Paths are made in metres, once for each doubling
 * of the scale and no finer than can be seen then, and kept; a frame that only
 * moves the ground makes none.
 */
import { boxOf, onScreen } from "./view.js";
import { LOOKS, addMark, hatching } from "./looks.js";

/**
 * @param {HTMLCanvasElement} canvas
 * @param {(name: string) => string} colour
 */
export function painterOn(canvas, colour) {
  const c = canvas.getContext("2d");
  const patterns = new Map();
  let ratio = 1;

  function pattern(look, scale) {
    const key = look.pattern + look.hatching + ratio;
    if (!patterns.has(key)) patterns.set(key, c.createPattern(hatching(look.pattern, colour(look.hatching ?? "ink"), ratio), "repeat"));
    const made = patterns.get(key);
    made.setTransform(new DOMMatrix().scale(1 / scale / ratio, 1 / scale / ratio));
    return made;
  }

  function strokeIn(path, name, width, dash, scale) {
    c.strokeStyle = colour(name);
    c.lineWidth = width / scale;
    c.setLineDash(dash.map((d) => d / scale));
    c.stroke(path);
  }

  function drawShapes(look, { area, line }, scale) {
    if (look.fill) {
      c.fillStyle = colour(look.fill);
      c.fill(area, "evenodd");
    }
    if (look.pattern) {
      c.fillStyle = pattern(look, scale);
      c.fill(area, "evenodd");
    }
    if (look.under) strokeIn(line, look.under[0], look.under[1], [], scale);
    if (look.stroke) strokeIn(line, look.stroke, look.width, look.dash ?? [], scale);
  }

  function drawMarks(look, places, size) {
    c.beginPath();
    for (const [x, y] of places) addMark(c, look.mark, x, y, size);
    if (look.stroke) {
      c.strokeStyle = colour("paper");
      c.lineWidth = 4;
      c.stroke();
    }
    c.fillStyle = colour(look.fill);
    c.fill();
    if (look.stroke) {
      c.strokeStyle = colour(look.stroke);
      c.lineWidth = 1.4;
      c.stroke();
    }
  }

  /** Dots shrink where they crowd, and those that fall on one another are drawn once. */
  function drawDots(look, xy, view) {
    const places = seen(xy, view), many = places.length > 4000;
    if (!many) {
      const usual = view.scale > 4 ? 3.4 : places.length > 800 ? 1.6 : 2.2;
      drawMarks(look, places, usual);
      return;
    }
    c.fillStyle = colour(look.fill);
    for (const [x, y] of places) c.fillRect(x - 1, y - 1, 2, 2);
  }

  return {
    /** Fits the canvas to a size in pixels. */
    resize(width, height) {
      ratio = Math.min(globalThis.devicePixelRatio || 1, 2);
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(height * ratio);
    },

    clear() {
      c.setTransform(ratio, 0, 0, ratio, 0, 0);
      c.lineJoin = "round";
      c.clearRect(0, 0, canvas.width, canvas.height);
    },

    /** Draws those layers of a model that are shown. */
    draw(model, shown, view) {
      this.clear();
      const layers = model.layers.filter((layer) => shown.has(layer.key));
      const [left, top] = onScreen(view, 0, 0), s = view.scale;
      for (const [name, look] of Object.entries(LOOKS)) {
        for (const layer of layers) {
          if (layer.dots?.look === name) drawDots(look, layer.dots.xy, view);
          const items = layer.items.filter((item) => item.look === name);
          if (items.length === 0) continue;
          if (look.mark) {
            drawMarks(look, items.map(({ at }) => onScreen(view, at[0], at[1])), 4);
            continue;
          }
          c.setTransform(s * ratio, 0, 0, -s * ratio, left * ratio, top * ratio);
          drawShapes(look, pathsOf(layer, name, items, view), s);
          c.setTransform(ratio, 0, 0, ratio, 0, 0);
          c.setLineDash([]);
        }
      }
    },

    /** Points an item out. */
    outline(item, view) {
      this.clear();
      const { at } = item, [left, top] = onScreen(view, 0, 0), s = view.scale;
      if (item.rings.length + item.paths.length > 0) {
        c.setTransform(s * ratio, 0, 0, -s * ratio, left * ratio, top * ratio);
        const path = new Path2D();
        for (const ring of item.rings) addLine(path, ring, 0.5 / s, true);
        for (const line of item.paths) addLine(path, line, 0.5 / s, false);
        strokeIn(path, "paper", 7, [], s);
        strokeIn(path, "blue", 4, [], s);
      } else if (at) {
        const circle = new Path2D();
        circle.arc(...onScreen(view, at[0], at[1]), 11, 0, 2 * Math.PI);
        strokeIn(circle, "paper", 6, [], 1);
        strokeIn(circle, "blue", 3, [], 1);
      }
      c.setTransform(ratio, 0, 0, ratio, 0, 0);
    },

    /** Ties labels to what they name. @param {[number, number, number, number][]} legs */
    leaders(legs) {
      const path = new Path2D();
      for (const [fromX, fromY, toX, toY] of legs) {
        path.moveTo(fromX, fromY);
        path.lineTo(toX, toY);
      }
      strokeIn(path, "ink", 1, [], 1);
    },

    /** A sample of a look that fills the canvas. */
    sample(name, width, height) {
      this.resize(width, height);
      this.clear();
      const look = LOOKS[name];
      if (look.mark) {
        drawMarks(look, [[width / 2, height / 2]], 3.4);
        return;
      }
      const area = new Path2D(), line = new Path2D(), rim = look.under ? 4 : 1.5;
      area.rect(rim, rim, width - 2 * rim, height - 2 * rim);
      if (name === "track" || name === "short" || name === "site") {
        line.moveTo(rim, height / 2);
        line.lineTo(width - rim, height / 2);
      } else {
        line.addPath(area);
      }
      drawShapes(look, { area, line }, 1);
    },
  };
}

/** The paths of one look of a layer; kept with the layer for a doubling of the scale. */
function pathsOf(layer, name, items, view) {
  const step = Math.ceil(Math.log2(view.scale));
  layer.paths ??= {};
  const kept = layer.paths[name];
  if (kept?.step === step) return kept;
  const tolerance = 0.3 / 2 ** step;
  const area = new Path2D(), line = new Path2D();
  for (const item of items) {
    for (const r of item.rings) addLine(area, r, tolerance, true);
    for (const p of item.paths) addLine(line, p, tolerance, false);
  }
  line.addPath(area);
  return layer.paths[name] = { step, area, line };
}

/**
 * Adds a line without the vertices that lie within a tolerance of it: from each
 * vertex kept, the next is the last one to which a straight leg passes all
 * between close by.
 */
function addLine(path, xy, tolerance, closed) {
  let ax = xy[0], ay = xy[1], bx = ax, by = ay, far = 0, low = -Infinity, high = Infinity, base = 0;
  path.moveTo(ax, ay);
  const start = (x, y) => {
    ax = x; ay = y; far = 0; low = -Infinity; high = Infinity;
  };
  for (let i = 2; i < xy.length; i += 2) {
    for (let again = true; again;) {
      again = false;
      const dx = xy[i] - ax, dy = xy[i + 1] - ay, d = Math.hypot(dx, dy);
      if (d <= tolerance && far === 0) break;
      if (far === 0) base = Math.atan2(dy, dx);
      let turn = Math.atan2(dy, dx) - base;
      if (turn > Math.PI) turn -= 2 * Math.PI;
      if (turn < -Math.PI) turn += 2 * Math.PI;
      if (far > 0 && (turn < low || turn > high || d < far - tolerance)) {
        path.lineTo(bx, by);
        start(bx, by);
        again = true;
        continue;
      }
      const give = d > tolerance ? Math.asin(tolerance / d) : Math.PI;
      low = Math.max(low, turn - give);
      high = Math.min(high, turn + give);
      far = Math.max(far, d);
    }
    bx = xy[i]; by = xy[i + 1];
  }
  path.lineTo(bx, by);
  if (closed) path.closePath();
}

/** Where dots show on the screen, those apart by less than two pixels once. */
function seen(xy, view) {
  const [west, south, east, north] = boxOf(view), places = [];
  const columns = Math.ceil(view.width / 2) + 2, taken = new Uint8Array(columns * (Math.ceil(view.height / 2) + 2));
  const halfWide = view.width / 2, halfHigh = view.height / 2;
  for (let i = 0; i < xy.length; i += 2) {
    const x = xy[i], y = xy[i + 1];
    if (x < west || x > east || y < south || y > north) continue;
    const left = halfWide + (x - view.x) * view.scale, top = halfHigh - (y - view.y) * view.scale;
    const cell = (top >> 1) * columns + (left >> 1);
    if (taken[cell] === 0) {
      taken[cell] = 1;
      places.push([left, top]);
    }
  }
  return places;
}
