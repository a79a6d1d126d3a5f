/** The list of jobs, and how a new one begins. */
import { get, post, putFiles } from "./api.js";
import { h, table } from "./html.js";
import { dropZone } from "./form.js";

export async function showJobs(view) {
  const { folder, jobs } = await get("api/jobs");
  const fault = h("p", { class: "fault", role: "alert" });
  const begin = async (files) => {
    fault.textContent = "";
    try {
      const boundary = files.find((file) => /\.shp$/i.test(file.name)) || files[0];
      const job = await post("api/jobs", { name: boundary.name.replace(/\.[^.]*$/, "") });
      await putFiles(job.name, files.filter((file) => file !== boundary));
      await putFiles(job.name, [boundary], "client");
      location.hash = `#/${encodeURIComponent(job.name)}/receipt`;
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  const place = h("input", { id: "jobs-folder", type: "text", value: folder, autocomplete: "off", spellcheck: false, "aria-describedby": "jobs-folder-hint" });
  const move = async () => {
    fault.textContent = "";
    try {
      await post("api/folder", { folder: place.value.trim() });
      view.replaceChildren();
      await showJobs(view);
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
        job.client, new Date(job.changed).toLocaleString(), job.audited ? "audited" : job.prepared ? "prepared" : "received",
      ]), "Jobs")
      : h("p", {}, "There are no jobs yet."),
    h("details", {},
      h("summary", {}, `The jobs are folders in ${folder}`),
      h("div", { class: "fields" }, h("div", { class: "field" },
        h("label", { for: "jobs-folder" }, "Keep them in another folder from now on"), place,
        h("span", { class: "hint", id: "jobs-folder-hint" }, "its whole path, as in D:\\Jobs; nothing is moved"))),
      h("p", {}, h("button", { type: "button", onclick: move }, "Use this folder"))));
}
