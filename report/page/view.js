/**
 * Where things are: degrees, metres and pixels. Pure functions; nothing that
 * they are given is changed.
 *
 * A frame lays a plane about a middle in degrees, true to scale there: x is
 * metres east of it, y metres north. It serves drawing only. A view shows a
 * part of that plane: x and y are in its middle, scale is pixels a metre, and
 * width and height are pixels.
 *
 * @typedef {{lon: number, lat: number, perLon: number, perLat: number}} Frame
 * @typedef {{x: number, y: number, scale: number, width: number, height: number}} View
 * @typedef {[west: number, south: number, east: number, north: number]} Box metres
 */

/**
 * The lengths of a degree are those of the WGS 84 ellipsoid, from its radii of
 * curvature.
 * @returns {Frame}
 */
export function frameAt(lon, lat) {
  const a = 6378137, e2 = 6.69437999014e-3;
  const sin = Math.sin(lat * Math.PI / 180), w = 1 - e2 * sin * sin;
  const perDegree = a / Math.sqrt(w) * Math.PI / 180;
  return {
    lon, lat,
    perLon: Math.max(perDegree * Math.cos(lat * Math.PI / 180), 1),
    perLat: perDegree * (1 - e2) / w,
  };
}

/** Degrees at a place of the plane; a longitude is within -180 to 180. */
export function degreesAt(frame, x, y) {
  const lon = frame.lon + x / frame.perLon;
  return [lon - 360 * Math.round(lon / 360), frame.lat + y / frame.perLat];
}

/** "54.699441° N, 2.300790° E" */
export function positionText(lon, lat) {
  const side = (value, plus, minus) => `${Math.abs(value).toFixed(6)}° ${value < 0 ? minus : plus}`;
  return `${side(lat, "N", "S")}, ${side(lon, "E", "W")}`;
}

/** @param {View} view */
export function onScreen(view, x, y) {
  return [view.width / 2 + (x - view.x) * view.scale, view.height / 2 - (y - view.y) * view.scale];
}

/** @param {View} view */
export function onPlane(view, left, top) {
  return [view.x + (left - view.width / 2) / view.scale, view.y - (top - view.height / 2) / view.scale];
}

/** What the view shows. @param {View} view @returns {Box} */
export function boxOf(view) {
  const [west, north] = onPlane(view, 0, 0), [east, south] = onPlane(view, view.width, view.height);
  return [west, south, east, north];
}

/** @param {Box} a @param {Box} b */
export function meet(a, b) {
  return a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
}

/** All of a box, with a little air about it. @param {Box} box */
export function fitted(box, width, height) {
  const air = 1.06, wide = Math.max(box[2] - box[0], 1) * air, high = Math.max(box[3] - box[1], 1) * air;
  return {
    x: (box[0] + box[2]) / 2, y: (box[1] + box[3]) / 2,
    scale: Math.min(width / wide, height / high), width, height,
  };
}

/** The ground follows the pointer by so many pixels. @param {View} view */
export function dragged(view, right, down) {
  return { ...view, x: view.x - right / view.scale, y: view.y + down / view.scale };
}

/**
 * Enlarged about a place on the screen, which stays where it is.
 * @param {View} view
 * @param {[least: number, most: number]} limits of the scale
 */
export function zoomed(view, factor, left, top, limits) {
  const scale = Math.min(Math.max(view.scale * factor, limits[0]), limits[1]);
  const [x, y] = onPlane(view, left, top), kept = 1 - view.scale / scale;
  return { ...view, x: view.x + (x - view.x) * kept, y: view.y + (y - view.y) * kept, scale };
}

/** Moved no farther than it takes to show a box, and enlarged if that is tiny. */
export function showing(view, box, limits) {
  const size = Math.max(box[2] - box[0], box[3] - box[1]) * view.scale;
  const x = (box[0] + box[2]) / 2, y = (box[1] + box[3]) / 2;
  const smallest = 24, largest = 0.8 * Math.min(view.width, view.height);
  if (size > largest || size > 0 && size < smallest) {
    const fit = fitted(box, view.width, view.height).scale;
    const wanted = size > largest ? fit : Math.min(fit / 4, view.scale * smallest / size * 2);
    return { ...view, x, y, scale: Math.min(Math.max(wanted, limits[0]), limits[1]) };
  }
  const [left, top] = onScreen(view, x, y), rim = Math.min(60, view.width / 4);
  const inside = left > rim && left < view.width - rim && top > rim && top < view.height - rim;
  return inside ? view : { ...view, x, y };
}

/** The greatest 1, 2 or 5 times a power of ten that is at most x. */
export function roundLength(x) {
  const power = 10 ** Math.floor(Math.log10(x)), first = x / power;
  return (first >= 5 ? 5 : first >= 2 ? 2 : 1) * power;
}
