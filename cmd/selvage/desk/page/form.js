/** Forms whose fields are flags of a command, by the flags' own names. */
import { h } from "./html.js";

let serial = 0;

/**
 * @typedef {Object} Field
 * @property {string} flag
 * @property {string} label
 * @property {string} [hint]      how it is written, with an example
 * @property {[string, string][]} [options]  value and words
 * @property {[string, string][]} [suggested]  the same, besides what is typed
 * @property {boolean} [toggle]   on or off
 */

/** What was typed: lists of values by flag, none empty. */
export class Flags {
  constructor(kept) { this.values = { ...kept }; }
  one(flag) { return (this.values[flag] || [""])[0]; }
  is(flag) { return flag in this.values; }
  set(flag, value) { this.setAll(flag, value === "" ? [] : [value]); }
  setAll(flag, values) {
    if (values.length) this.values[flag] = values;
    else delete this.values[flag];
  }
  toggle(flag, on) { this.setAll(flag, on ? [""] : []); }
  /** Without the flags named. */
  without(...flags) {
    return Object.fromEntries(Object.entries(this.values).filter(([flag]) => !flags.includes(flag)));
  }
}

/** One field, which keeps `flags` true and tells of each change. */
export function field(flags, { flag, label, hint, options, suggested, toggle }, changed) {
  const id = `field-${serial++}`;
  const described = hint ? `${id}-hint` : undefined;
  const note = hint && h("span", { class: "hint", id: described }, hint);
  if (toggle) {
    return h("div", { class: "field toggle" },
      h("input", { id, type: "checkbox", checked: flags.is(flag), "aria-describedby": described,
        onchange: (event) => { flags.toggle(flag, event.target.checked); changed(); } }),
      h("label", { for: id }, label), note);
  }
  const input = options
    ? h("select", { id, "aria-describedby": described, onchange: (event) => { flags.set(flag, event.target.value); changed(); } },
      options.map(([value, words]) => h("option", { value, selected: flags.one(flag) === value }, words)))
    : h("input", { id, type: "text", value: flags.one(flag), autocomplete: "off", spellcheck: false, "aria-describedby": described,
      oninput: (event) => { flags.set(flag, event.target.value.trim()); changed(); } });
  const list = suggested && h("datalist", { id: `${id}-list` }, suggested.map(([value, words]) => h("option", { value }, words)));
  if (list) input.setAttribute("list", list.id);
  return h("div", { class: "field" }, h("label", { for: id }, label), input, list, note);
}

export function fields(flags, list, changed) {
  return h("div", { class: "fields" }, list.map((each) => field(flags, each, changed)));
}

/**
 * A place to drop files on, or to choose them.
 * @param {{label: string, hint?: string, folder?: boolean, many?: boolean, taken: (files: File[]) => void}} options
 */
export function dropZone({ label, hint, folder, many, taken }) {
  const id = `drop-${serial++}`;
  const input = h("input", { id, type: "file", class: "unseen", multiple: many || folder,
    onchange: () => { const files = [...input.files]; input.value = ""; if (files.length) taken(files); } });
  if (folder) input.webkitdirectory = true;
  const zone = h("div", { class: "drop" },
    input,
    h("label", { for: id, class: "button" }, label),
    hint && h("p", {}, hint));
  zone.addEventListener("dragover", (event) => { event.preventDefault(); zone.classList.add("over"); });
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  const fault = h("p", { class: "fault", role: "alert" });
  zone.append(fault);
  zone.addEventListener("drop", async (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    fault.textContent = "";
    try {
      const files = await dropped(event.dataTransfer);
      if (files.length) taken(many || folder ? files : files.slice(0, 1));
    } catch {
      fault.textContent = "The browser cannot read what was dropped. Choose it with the button.";
    }
  });
  return zone;
}

/** The files that were dropped, those within folders too, each with `path`. */
async function dropped(transfer) {
  const files = [];
  const walk = async (entry, folder) => {
    if (entry.isFile) {
      const file = await new Promise((resolve, reject) => entry.file(resolve, reject));
      file.path = folder + entry.name;
      files.push(file);
      return;
    }
    const reader = entry.createReader();
    for (;;) {
      const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
      if (!some.length) return;
      for (const each of some) await walk(each, `${folder}${entry.name}/`);
    }
  };
  // All are asked for at once: they are gone when the event is over.
  const items = [...transfer.items].map((item) => [item.getAsFile(), item.webkitGetAsEntry?.()]);
  for (const [file, entry] of items) {
    if (entry?.isDirectory) await walk(entry, "");
    else if (file) files.push(file);
  }
  return files;
}
