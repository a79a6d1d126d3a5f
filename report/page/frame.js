/**
 * The elements that a map is made of, without what they show.
 *
 * @param {{larger: () => void, smaller: () => void, all: () => void}} press  what the buttons do
 */
import { aria, build } from "./dom.js";
import { say } from "./say.js";

const KEYS = [
  say("Drag to move; pinch to enlarge, or turn the wheel after a click on the map."),
  say("Keys on the map: arrows move it, + and − change its size, 0 shows all, N and P go from number to number, Enter reads what lies in the middle."),
  say("Positions are latitude and longitude in degrees, WGS 84."),
].join(" ");

export function frameWith(press) {
  const div = (name, ...children) => build("div", { className: `live-${name}` }, ...children);
  const span = (name) => build("span", { className: `live-${name}` });
  const ground = build("canvas"), marks = build("canvas"), holder = div("tags");
  const figures = Object.assign(div("figures"), { hidden: true });
  const plot = div("plot", ground, marks, aria(div("cross"), { hidden: "true" }), holder, aria(div("north", "N"), { hidden: "true" }), figures);
  plot.tabIndex = 0;
  aria(plot, { role: "application", roledescription: say("map"), describedby: "live-keys" });

  const tool = (text, label, onclick) => aria(build("button", { type: "button", textContent: text, onclick }), { label });
  const tools = div("tools", tool("+", say("Enlarge"), press.larger), tool("−", say("Reduce"), press.smaller), tool(say("All"), say("Show all"), press.all));
  aria(tools, { role: "group", label: say("Size of the map") });

  const bar = span("bar"), barText = build("span"), place = span("place"), scale = span("scale");
  scale.append(bar, barText);
  const layers = build("fieldset", { className: "live-layers" }), jump = build("select");
  const spoken = aria(div("spoken"), { role: "status" });
  const root = div("map",
    div("frame", plot, tools), div("foot", scale, place), layers,
    build("label", { className: "live-jump" }, `${say("Go to")} `, jump),
    build("p", { className: "live-keys", id: "live-keys", textContent: KEYS }), spoken);
  return { root, plot, ground, marks, holder, figures, bar, barText, place, spoken, layers, jump };
}
