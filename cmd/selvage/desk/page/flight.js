/** After the flight: what the photos saw. */
import { filePath, jobPath, keeper, post, putFiles } from "./api.js";
import { count, counted, h, say, table } from "./html.js";
import { dropZone, fields, Flags } from "./form.js";
import { photosAmong, sendHeads } from "./photos.js";
import { named, saves } from "./receipt.js";

const heights = [
  { flag: "ground", label: "Altitude of the ground", hint: "in the photos’ own measure, as in 132m" },
  { flag: "height", label: "Or the height flown above it", hint: "as in 80m or 260ft" },
  { flag: "geoid-offset", label: "Geoid above the ellipsoid", hint: "as in 46.2m, where altitudes are above the ellipsoid" },
];
const wanted = [
  { flag: "overlap", label: "Wanted overlap, forward and side", hint: "in per cent, as in 75/70" },
  { flag: "gsd", label: "Wanted ground sample distance", hint: "as in 2.5cm" },
  { flag: "min-views", label: "Wanted views everywhere", hint: "5 if left blank (common practice)" },
  { flag: "position-error", label: "How far off positions may be", hint: "as in 5cm, where the photos do not say" },
  { flag: "camera", label: "Camera, where the photos do not say", hint: "13.2x8.8mm,8.8mm,5472x3648" },
];

export async function showFlight(view, job) {
  const flags = new Flags(job.settings.flags.audit);
  const prepared = new Flags(job.settings.flags.prepare);
  for (const flag of ["overlap", "gsd"]) if (!flags.is(flag) && prepared.is(flag)) flags.set(flag, prepared.one(flag));

  const typed = keeper(job.name, "audit", () => flags.values);
  const changed = typed.soon;

  const reading = h("div", {});
  const list = h("div", {});
  const result = h("div", {});
  let controller = null;
  let properties = {};
  let last = [];

  const read = async (files) => {
    const photos = photosAmong(files);
    if (!photos.length) {
      reading.replaceChildren(h("p", { class: "fault", role: "alert" }, "There is no photo among these files: JPEG, TIFF, DNG, HEIF or PNG."));
      return;
    }
    if (controller) controller.abort();
    const mine = controller = new AbortController();
    last = photos;
    const bar = h("progress", { max: photos.length, value: 0, "aria-label": "Photos read" });
    const told = h("p", {}, `Reading ${counted(photos.length, "photo", "photos")} …`);
    reading.replaceChildren(h("div", { class: "reading" }, bar, told, h("button", { type: "button", onclick: () => mine.abort() }, "Stop reading")));
    const start = performance.now();
    try {
      const tally = await sendHeads(job.name, photos, properties, (done) => {
        const rate = done / (performance.now() - start) * 1000;
        bar.value = done;
        told.textContent = `${count(done)} of ${counted(photos.length, "photo", "photos")} read, ${count(Math.round(rate))} a second`;
      }, mine.signal);
      reading.replaceChildren(h("p", { class: "done" }, `${counted(tally.read, "photo", "photos")} read, ${count(tally.left_out.length)} left out.`), ...suggestions(tally));
      say(`${counted(tally.read, "photo", "photos")} read.`);
      await describe();
    } catch (fault) {
      const text = fault.name === "AbortError" ? "Stopped. The photos that were read before this folder stay as they were." : fault.message;
      reading.replaceChildren(h("p", { class: "fault", role: "alert" }, text));
    }
  };

  const suggestions = (tally) => Object.entries(tally.suggested).map(([quantity, name]) => h("p", {},
    `The photos carry a property, ${name}, that may hold their ${quantity}. `,
    h("button", { type: "button", onclick: () => { properties = { ...properties, [quantity]: name }; read(last); } }, `Read ${quantity} from it`)));

  const describe = async () => {
    const { result: photos } = await post(jobPath(job.name, "run", "photos"), {});
    list.replaceChildren(
      table(["Sensor", "Photos"], photos.sensors.map(({ name, photos: n }) => [name, count(n)]), "Sensors"),
      table(["Value", "Known of", "Source"], photos.values.map(({ name, known, sources }) => [name, count(known), sources.map((s) => s.name).join("; ") || "none"]), "Values"),
      photos.photos.left_out.length ? h("details", {}, h("summary", {}, `${counted(photos.photos.left_out.length, "photo", "photos")} left out`),
        table(["Photo", "Why"], photos.photos.left_out.map(({ file, reason }) => [file, reason]), "Photos left out")) : "");
    audit.disabled = false;
  };

  const extra = h("ul", { class: "keep-outs" });
  const listExtra = () => extra.replaceChildren(...["terrain", "points"].flatMap((flag) => (flags.values[flag] || []).map((name) =>
    h("li", {}, h("span", {}, `${name} (${flag === "terrain" ? "terrain" : "control points"})`),
      h("button", { type: "button", class: "quiet", onclick: () => { flags.setAll(flag, flags.values[flag].filter((other) => other !== name)); listExtra(); changed(); } }, `Leave out ${name}`)))));
  const add = (flag) => async (files) => {
    try {
      await putFiles(job.name, files);
      flags.setAll(flag, [...new Set([...(flags.values[flag] || []), ...files.map(({ name }) => name)])]);
      listExtra();
      changed();
    } catch (fault) { result.replaceChildren(h("p", { class: "fault", role: "alert" }, fault.message)); }
  };

  const run = async () => {
    audit.disabled = true;
    result.replaceChildren(h("p", { class: "wait" }, "Measuring …"));
    try {
      const { result: said } = await post(jobPath(job.name, "run", "audit"), flags.values);
      // Where photos come from several sensors, each has its own note.
      const notes = said.sensors || [{ sensor: "", audit: said }];
      result.replaceChildren(...notes.flatMap(({ sensor, audit: note }) => shown(sensor, note)));
      say(notes.map(({ audit: note }) => note.edge.verdict).join(" "));
    } catch (fault) {
      result.replaceChildren(h("p", { class: "fault", role: "alert" }, fault.message));
    }
    audit.disabled = false;
  };
  const shown = (sensor, note) => {
    const again = note.refly.length
      ? `${counted(note.refly.length, "area has", "areas have")} to be flown again: ${counted(note.refly_plan.lines, "line", "lines")}, ${counted(note.refly_plan.photos, "photo", "photos")}, about ${Math.ceil(note.refly_plan.minutes)} min.`
      : "Nothing has to be flown again.";
    return [
      sensor && h("h3", {}, `Sensor ${sensor}`),
      h("p", { class: "verdict-line" }, again), h("p", {}, note.edge.verdict),
      h("iframe", { class: "report", title: `Coverage note ${sensor}`.trim(), src: filePath(job.name, named(note, ".html")) }),
      saves(job.name, note.files),
    ].filter(Boolean);
  };
  const audit = h("button", { type: "button", class: "button main", disabled: true, onclick: run }, "Show what the photos saw");

  view.append(
    h("h1", {}, "After the flight"),
    h("section", {}, h("h2", {}, "Photos"),
      dropZone({ label: "Choose a folder of photos", folder: true, taken: read,
        hint: "or drop folders here. The page reads the first 128 KiB of each photo and sends them to the program on this computer; the card is not written to." }),
      reading, list),
    h("form", { onsubmit: (event) => event.preventDefault() },
      h("h2", {}, "Ground"), fields(flags, heights, changed),
      dropZone({ label: "Choose terrain files", hint: "or drop them here: GeoTIFF, SRTM .hgt or Esri ASCII grid", many: true, taken: add("terrain") }),
      h("h2", {}, "Wanted"), fields(flags, wanted, changed),
      dropZone({ label: "Choose control points", hint: "or drop them here: CSV, KML or GeoJSON", many: true, taken: add("points") }),
      extra),
    h("section", {}, h("h2", {}, "Coverage"), h("p", {}, audit), result));
  listExtra();
  if (job.files.some(({ name }) => name === "photos.csv")) await describe();
  return () => {
    typed.end();
    if (controller) controller.abort();
  };
}
