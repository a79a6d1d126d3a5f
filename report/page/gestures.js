/**
 * Turns pointers, wheel and keys over an element into moves of a view.
 *
 * @param {HTMLElement} plot
 * @param {Object} on
 * @param {(right: number, down: number) => void} on.drag        pixels
 * @param {(factor: number, left?: number, top?: number) => void} on.zoom  about a place, or the middle
 * @param {() => void} on.all
 * @param {(left: number, top: number, touch: boolean) => void} on.tap
 * @param {(left: number, top: number) => void} on.hover
 * @param {() => void} on.leave
 * @param {(step: 1 | -1) => void} on.step   to the next or previous numbered place
 * @param {() => void} on.read               what lies in the middle
 * @param {() => void} on.escape
 * @param {"focused" | "always"} wheel       when the wheel enlarges; otherwise it scrolls the page
 * @returns {() => void} lets go of the element
 */
export function gesturesOn(plot, on, wheel) {
  const pointers = new Map();
  const still = 6; // pixels that a tap may stray
  let travelled = 0;

  const placeOf = (event) => {
    const { left, top } = plot.getBoundingClientRect();
    return [event.clientX - left, event.clientY - top];
  };
  const spread = () => {
    const [[ax, ay], [bx, by]] = [...pointers.values()];
    return [Math.hypot(ax - bx, ay - by), (ax + bx) / 2, (ay + by) / 2];
  };
  const ofButton = (event) => event.target.closest("button, a") !== null;

  const listeners = {
    pointerdown(event) {
      if (ofButton(event) || event.button > 0) return;
      if (pointers.size === 0) travelled = 0;
      pointers.set(event.pointerId, placeOf(event));
      plot.setPointerCapture(event.pointerId);
    },
    pointermove(event) {
      const place = placeOf(event), before = pointers.get(event.pointerId);
      if (!before) {
        if (event.pointerType === "mouse" && !ofButton(event)) on.hover(...place);
        return;
      }
      if (pointers.size === 1) {
        travelled += Math.hypot(place[0] - before[0], place[1] - before[1]);
        pointers.set(event.pointerId, place);
        if (travelled > still) on.drag(place[0] - before[0], place[1] - before[1]);
      } else if (pointers.size === 2) {
        travelled = Infinity;
        const [wide, x, y] = spread();
        pointers.set(event.pointerId, place);
        const [wider, newX, newY] = spread();
        on.drag(newX - x, newY - y);
        if (wide > 0 && wider > 0) on.zoom(wider / wide, newX, newY);
      }
    },
    pointerup(event) {
      if (pointers.delete(event.pointerId) && travelled <= still) on.tap(...placeOf(event), event.pointerType !== "mouse");
    },
    pointercancel: (event) => pointers.delete(event.pointerId),
    pointerleave: () => on.leave(),
    dblclick(event) {
      if (!ofButton(event)) on.zoom(2, ...placeOf(event));
    },
    wheel(event) {
      if (wheel === "focused" && !event.ctrlKey && !event.metaKey && !plot.contains(document.activeElement)) return;
      event.preventDefault();
      const lines = [1, 16, 400][event.deltaMode], pinch = event.ctrlKey ? 5 : 1;
      on.zoom(Math.exp(-Math.max(-100, Math.min(event.deltaY * lines * pinch, 100)) / 300), ...placeOf(event));
    },
    keydown(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const far = event.shiftKey ? 240 : 80, onPlot = event.target === plot;
      const keys = {
        ArrowLeft: () => on.drag(far, 0), ArrowRight: () => on.drag(-far, 0),
        ArrowUp: () => on.drag(0, far), ArrowDown: () => on.drag(0, -far),
        "+": () => on.zoom(1.5), "=": () => on.zoom(1.5), "-": () => on.zoom(1 / 1.5), "_": () => on.zoom(1 / 1.5),
        "0": on.all, n: () => on.step(1), p: () => on.step(-1), Escape: on.escape,
        ...(onPlot && { Enter: on.read, " ": on.read }),
      };
      const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
      if (!act) return;
      event.preventDefault();
      act();
    },
  };
  for (const [name, listener] of Object.entries(listeners)) plot.addEventListener(name, listener, { passive: false });
  return () => {
    for (const [name, listener] of Object.entries(listeners)) plot.removeEventListener(name, listener);
  };
}
