/** Preparation: the site area extended, redrawn while one types. */
import { get, jobPath, keeper, post, putFiles } from "./api.js";
import { count, counted, h, say, table, tied } from "./html.js";
import { dropZone, field, fields, Flags } from "./form.js";
import { saves } from "./receipt.js";
import { filesWithLength, partMargins } from "./margins.js";
import { HEAD } from "./photos.js";
import { mountMap } from "./map.js";

const setup = [
  { flag: "camera", label: "Camera", hint: "sensor, focal length, image size: 13.2x8.8mm,8.8mm,5472x3648" },
  { flag: "height", label: "Height above ground", hint: "as in 80m or 260ft" },
  { flag: "gsd", label: "Or the ground sample distance", hint: "as in 2.5cm; give this or the height" },
  { flag: "overlap", label: "Forward and side overlap", hint: "in per cent, as in 75/70" },
];
const shape = [
  { flag: "join", label: "Corners", options: [["", "round"], ["mitre", "mitred"]] },
  { flag: "max-vertices", label: "Most vertices", hint: "200 if left blank (common practice); 0 is as many as it takes" },
  { flag: "fill-holes", label: "Fly over holes too", toggle: true },
  { flag: "keep-separate", label: "Keep parts separate where their buffers meet", toggle: true },
  { flag: "split", label: "One polygon a file", toggle: true },
];
const special = [
  { flag: "along-within", label: "How near a line counts", hint: "20m if left blank" },
  { flag: "hole-min", label: "Fly over holes smaller than", hint: "as in 500m2, in the flight area" },
  { flag: "ignore-buffers", label: "Ignore buffers that the file brings", toggle: true },
];
const formats = { flag: "format", label: "Files", options: [["", "KML"], ["kml,kmz", "KML and KMZ"], ["kml,geojson", "KML and GeoJSON"], ["kml,kmz,geojson", "KML, KMZ and GeoJSON"]] };
const flown = [
  { flag: "exposure", label: "Exposure time", hint: "as in 1/1000s" },
  { flag: "trigger", label: "Least time between two photos", hint: "as in 2s" },
  { flag: "course", label: "Direction of the lines", hint: "degrees from north; the best one if left blank" },
];
const setupFlags = ["camera", "sample", "height", "gsd", "overlap", "width-along"];

export async function showPreparation(view, job) {
  const flags = new Flags(job.settings.flags.prepare || { buffer: ["30m"] });
  const plan = new Flags(job.settings.flags.plan);
  const readings = job.settings.flags.vet || {};
  for (const flag of ["crs", "close-path", "crossing", "hole", "parts", "tolerate", "near", "expect-area", "min-width"]) {
    flags.setAll(flag, readings[flag] || []);
  }
  // Camera, height and overlaps stay on the page when the buffer is not worked
  // out from them.
  const kept = new Flags({});
  for (const flag of setupFlags) kept.setAll(flag, flags.values[flag] || plan.values[flag] || []);

  const auto = () => flags.one("buffer") === "auto";
  const sent = () => {
    const all = auto() ? { ...flags.without(...setupFlags), ...kept.values } : flags.without(...setupFlags, "min-views");
    // Lines have no buffer until one is typed.
    const along = (all["margin-along"] || []).filter((value) => value.includes(":"));
    delete all["margin-along"];
    if (!along.length) delete all["along-within"];
    return along.length ? { ...all, "margin-along": along } : all;
  };

  const figures = h("div", { class: "figures" });
  const fault = h("p", { class: "fault", role: "alert" });
  const written = h("div", {});
  const mapPlace = h("div", { class: "map-place" });
  let map = null;
  // One drawing at a time is asked for; what is typed meanwhile is drawn next.
  // Where drawing takes long, it waits for a pause; so does a fault, since half a
  // length is none.
  let drawing = false, again = false, left = false, took = 0, timer = 0, faultTimer = 0;
  const typed = keeper(job.name, "prepare", sent);

  const draw = async () => {
    if (drawing) {
      again = true;
      return;
    }
    drawing = true;
    do {
      again = false;
      const start = performance.now();
      try {
        const made = await post(jobPath(job.name, "draw"), sent());
        if (left) return;
        took = performance.now() - start;
        tellFault("");
        figures.replaceChildren(...drawn(made));
        parts.update(made.part_names);
        if (map) map.update(made.map);
        else map = mountMap(mapPlace, made.map);
      } catch (error) {
        tellFault(error.message, map ? 500 : 0);
      }
    } while (again && !left);
    drawing = false;
  };
  const tellFault = (text, pause = 0) => {
    clearTimeout(faultTimer);
    if (pause) faultTimer = setTimeout(tellFault, pause, text);
    else fault.textContent = text;
  };
  const soon = () => {
    typed.soon();
    clearTimeout(timer);
    if (took < 200) draw();
    else timer = setTimeout(draw, 300);
  };
  const changed = () => { written.replaceChildren(); soon(); };

  const buffer = h("div", { class: "fields" },
    field(flags, { flag: "buffer", label: "Buffer", hint: "as in 30m or 100ft; −5m shrinks; auto works it out from camera, height and overlap" }, () => { more.hidden = !auto(); changed(); }));
  const more = h("div", { class: "fields", hidden: !auto() },
    field(flags, { flag: "min-views", label: "Photos that must see the edge", hint: "5 if left blank (common practice)" }, changed));

  const keepOuts = filesWithLength(flags, "keep-out", () => "keep away", () => changed());
  const alongs = filesWithLength(flags, "margin-along", () => "buffer along it", () => changed());
  const parts = partMargins(flags, () => changed());
  const put = (into) => async (files) => {
    try {
      await putFiles(job.name, files);
      fault.textContent = "";
      into.add(files.map(({ name }) => name));
    } catch (error) { fault.textContent = error.message; }
  };

  const cards = h("div", { class: "saves" });
  const listCards = async () => {
    const { cards: found } = await get("api/cards");
    cards.replaceChildren(...found.map((card) => h("button", { type: "button", onclick: () => write(card) }, `Write it to the card at ${card} too`)));
  };
  const write = async (card = "") => {
    written.replaceChildren(h("p", { class: "wait" }, "Writing and reading back …"));
    try {
      const { status, result } = await post(jobPath(job.name, "run", "prepare"), card ? { ...sent(), sd: [card] } : sent());
      written.replaceChildren(
        h("p", { class: "done" }, `${counted(result.files.length, "file is", "files are")} written, read back and proved.${status ? " A finding needs an answer; get it before this is flown." : ""}`),
        saves(job.name, result.files),
        h("p", { class: "next" }, h("a", { class: "button main", href: `#/${encodeURIComponent(job.name)}/flight` }, "On to the flight")));
      say("The flight area is written, read back and proved.");
    } catch (error) {
      written.replaceChildren(h("p", { class: "fault", role: "alert" }, error.message));
    }
  };

  const setupPlace = h("div", {});
  const sampled = h("p", { class: "place" });
  const listSetup = () => {
    setupPlace.replaceChildren(fields(kept, setup, () => {
      if (kept.is("camera")) kept.set("sample", "");
      tellSample();
      planTyped();
      if (auto()) changed();
    }));
    tellSample();
  };
  const tellSample = () => { sampled.textContent = kept.is("sample") ? `The camera is that of ${kept.one("sample")}.` : ""; };
  const takeSample = async ([photo]) => {
    try {
      await putFiles(job.name, [new File([photo.slice(0, HEAD)], photo.name)]);
      kept.set("sample", photo.name);
      kept.set("camera", "");
      listSetup();
      if (auto()) changed();
    } catch (error) { fault.textContent = error.message; }
  };

  const planned = h("div", {});
  const planFlags = () => ({ ...plan.without(...setupFlags), ...kept.values });
  const planKept = keeper(job.name, "plan", planFlags);
  const planTyped = planKept.soon;
  const work = async () => {
    try {
      const { result } = await post(jobPath(job.name, "run", "plan"), planFlags());
      planned.replaceChildren(table(["Figure", "Value"], result.rows, "Figures of the job"), ...result.findings.map(({ text }) => h("p", {}, text)),
        h("p", { class: "place" }, "The flight area as it was last written. It is no flight plan to load."));
    } catch (error) {
      planned.replaceChildren(h("p", { class: "fault", role: "alert" }, error.message));
    }
  };

  view.append(
    h("h1", {}, "Preparation"),
    h("div", { class: "beside" },
      h("form", { onsubmit: (event) => event.preventDefault() },
        h("h2", {}, "Buffer"), buffer, more,
        h("h2", {}, "Camera and flight"),
        h("p", { class: "hint" }, "For a buffer that is worked out, and for the figures of the job."),
        setupPlace,
        dropZone({ label: "Take the camera from a photo", taken: takeSample }), sampled,
        h("h2", {}, "Keep-out areas"),
        dropZone({ label: "Choose keep-out files", hint: "or drop them here: ground that must not be flown over", many: true, taken: put(keepOuts) }),
        keepOuts.list,
        h("details", { open: ["margin", "margin-along", "ignore-buffers", "hole-min"].some((flag) => flags.is(flag)) },
          h("summary", {}, "Other buffers for parts and along lines"),
          parts.place,
          dropZone({ label: "Choose files with lines", hint: "or drop them here: where the edge runs near such a line, as along a road, it has a buffer of its own", many: true, taken: put(alongs) }),
          alongs.list, fields(flags, special, changed)),
        h("h2", {}, "Shape and files"), fields(flags, shape, changed), fields(flags, [formats], typed.soon)),
      h("div", {}, mapPlace, fault, figures)),
    h("section", {}, h("h2", {}, "Write the flight area"),
      h("p", {}, "For the flight controller’s card, and a record from which the audit starts. An extended area can reach over ground or airspace where permission is needed."),
      h("p", {}, h("button", { type: "button", class: "button main", onclick: () => write() }, "Write the flight area")), cards, written),
    h("section", {}, h("h2", {}, "Figures of the job"), fields(plan, flown, () => planTyped()),
      h("p", {}, h("button", { type: "button", onclick: work }, "Work out the figures")), planned));
  listSetup();
  listCards();
  await draw();
  return () => {
    left = true;
    clearTimeout(timer);
    clearTimeout(faultTimer);
    typed.end();
    planKept.end();
    if (map) map.destroy();
  };
}

function drawn(d) {
  return [
    h("dl", { class: "facts" },
      [["Client’s area, mended", d.words.site], ["Flight area", d.words.flight], ["Vertices", count(d.vertices)],
        d.simplified_m2 >= 1 && ["Added by fewer vertices", d.words.simplified], d.words.derived && ["Buffer", d.words.derived]]
        .filter(Boolean).map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value)))),
    h("p", { class: "proof" }, tied(d.proof)),
    d.words.short.length ? h("div", {}, h("h3", {}, "Edge without its whole margin"),
      table(["Ring", "From", "To", "Length", "", "Begins at"], d.words.short, "Edge without its whole margin")) : "",
    d.words.findings.length ? h("details", {}, h("summary", {}, counted(d.words.findings.length, "finding", "findings")),
      h("ul", {}, d.words.findings.map((text) => h("li", {}, tied(text))))) : "",
  ];
}
