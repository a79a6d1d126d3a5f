/** Files with a length each, and buffers of single parts. */
import { h } from "./html.js";
import { field } from "./form.js";

/**
 * The files of a flag, each with a field for its length.
 * @param {(name: string) => string} label  what the length is, for a file
 * @returns {{list: HTMLElement, add: (names: string[]) => void}}
 */
export function filesWithLength(flags, flag, label, changed) {
  const list = h("ul", { class: "keep-outs" });
  const values = () => flags.values[flag] || [];
  const change = (index, next) => {
    flags.setAll(flag, values().map((old, i) => (i === index ? next : old)).filter(Boolean));
    changed();
  };
  const show = () => list.replaceChildren(...values().map((value, index) => {
    const [name, length = ""] = value.split(":");
    return h("li", {}, h("span", {}, name),
      h("label", {}, `${label(name)} `, h("input", { type: "text", value: length, size: 6, autocomplete: "off", "aria-label": `${label(name)}: ${name}`,
        oninput: (event) => change(index, event.target.value.trim() ? `${name}:${event.target.value.trim()}` : name) })),
      h("button", { type: "button", class: "quiet", onclick: () => { change(index, ""); show(); } }, `Leave out ${name}`));
  }));
  show();
  return {
    list,
    add: (names) => {
      const there = values().map((value) => value.split(":")[0]);
      flags.setAll(flag, [...values(), ...names.filter((name) => !there.includes(name))]);
      show();
      changed();
    },
  };
}

const mostParts = 30; // that have fields

/** Fields for the buffers of parts that have names; they are known with the first drawing. */
export function partMargins(flags, changed) {
  const place = h("div", { class: "fields" });
  let shown = "";
  return {
    place,
    update: (names) => {
      if (shown === JSON.stringify(names)) return;
      shown = JSON.stringify(names);
      const kept = flags.values.margin || [];
      place.replaceChildren(...names.slice(0, mostParts).map((name) => {
        const own = kept.find((value) => value.startsWith(`${name}:`));
        const one = { one: () => (own ? own.slice(name.length + 1) : ""),
          set: (_, value) => flags.setAll("margin", [...(flags.values.margin || []).filter((v) => !v.startsWith(`${name}:`)), ...(value ? [`${name}:${value}`] : [])]) };
        return field(one, { flag: "margin", label: `Buffer of ${name}`, hint: "as in 50m; as all others if left blank" }, changed);
      }));
    },
  };
}
