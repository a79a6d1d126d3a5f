/** The list of jobs, and how a new one begins. */
import { get, post, putFiles } from "./api.js";
import { h, say, table } from "./html.js";
import { dropZone, fields, Flags } from "./form.js";
import { figuresForm } from "./figures.js";
import { boundaryAmong } from "./receipt.js";

export async function showJobs(view) {
  const { folder, jobs } = await get("api/jobs");
  const fault = h("p", { class: "fault", role: "alert" });
  const begin = async (files) => {
    fault.textContent = "";
    try {
      const boundary = boundaryAmong(files);
      const job = await post("api/jobs", { name: boundary.name.replace(/\.[^.]*$/, "") });
      await putFiles(job.name, files.filter((file) => file !== boundary));
      await putFiles(job.name, [boundary], "client");
      location.hash = `#/${encodeURIComponent(job.name)}/receipt`;
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  const place = h("input", { id: "jobs-folder", type: "text", value: folder, autocomplete: "off", spellcheck: false, "aria-describedby": "jobs-folder-hint" });
  const again = async () => {
    view.replaceChildren();
    await showJobs(view);
  };
  const move = async () => {
    fault.textContent = "";
    try {
      await post("api/folder", { folder: place.value.trim() });
      await again();
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  view.append(
    h("h1", {}, "Jobs"),
    dropZone({ label: "Choose a client’s boundary file", many: true, taken: begin,
      hint: "or drop it here to begin a job: KML, KMZ, GeoJSON, WKT, a shapefile with what belongs to it (or zipped), GPX, or a CSV table of vertices. The file is copied; the original stays as it is." }),
    fault,
    jobs.length
      ? table(["Job", "Boundary file", "Last changed", "Done"], jobs.map((job) => [
        h("a", { href: `#/${encodeURIComponent(job.name)}/${job.audited ? "flight" : job.prepared ? "preparation" : "receipt"}` }, job.name),
        job.client, job.when, job.audited ? "audited" : job.prepared ? "prepared" : "received",
      ]), "Jobs")
      : h("p", {}, "There are no jobs yet."),
    await sheetHead(),
    figuresForm(again),
    h("details", {},
      h("summary", {}, `The jobs are folders in ${folder}`),
      h("div", { class: "fields" }, h("div", { class: "field" },
        h("label", { for: "jobs-folder" }, "Keep them in another folder from now on"), place,
        h("span", { class: "hint", id: "jobs-folder-hint" }, "its whole path, as in D:\\Jobs; nothing is moved"))),
      h("p", {}, h("button", { type: "button", onclick: move }, "Use this folder"))));
}

const headFields = [
  { flag: "operator", label: "Operator", hint: "who flies" },
  { flag: "client", label: "Client", hint: "where all jobs are for the same one" },
  { flag: "licence", label: "Licence or registration", hint: "in a line, as it is to be shown" },
  { flag: "remarks", label: "Remarks" },
];

/** What stands at the head of the sheets of all jobs. */
async function sheetHead() {
  const fault = h("p", { class: "fault", role: "alert" });
  const place = h("div", {});
  const show = (head) => {
    const typed = new Flags({});
    for (const { flag } of headFields) typed.set(flag, head[flag]);
    const now = (logo) => ({ ...Object.fromEntries(headFields.map(({ flag }) => [flag, typed.one(flag)])), logo });
    const keep = (logo) => tell(() => post("api/letterhead", now(logo)));
    place.replaceChildren(
      fields(typed, headFields, () => {}),
      dropZone({ label: head.logo ? "Choose another logo" : "Choose a logo", hint: "or drop it here: a PNG picture",
        taken: ([picture]) => tell(async () => { await post("api/letterhead", now(head.logo)); return post("api/letterhead/logo", picture); }) }),
      head.logo ? h("p", {}, `The logo is ${head.logo}. `, h("button", { type: "button", class: "quiet", onclick: () => keep("") }, "Leave out the logo")) : "",
      h("p", {}, h("button", { type: "button", onclick: () => keep(head.logo) }, "Keep this for all jobs")));
  };
  const tell = async (work) => {
    fault.textContent = "";
    try {
      show(await work());
      say("The head of the sheets is kept.");
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  try {
    show(await get("api/letterhead"));
  } catch (error) {
    fault.textContent = error.message; // somebody wrote what is no letterhead
  }
  return h("details", {}, h("summary", {}, "Head of the sheets"),
    h("p", {}, "It stands on the receipt sheets and coverage notes of all jobs, and is kept in letterhead.txt in their folder."), place, fault);
}
