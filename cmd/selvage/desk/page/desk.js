/** The desk: which view is shown, by the address after the #. */
import { get, jobPath, post, watch } from "./api.js";
import { h, say } from "./html.js";
import { showJobs } from "./jobs.js";
import { showReceipt } from "./receipt.js";
import { showPreparation } from "./prepare.js";
import { showFlight } from "./flight.js";
import { startFigures } from "./figures.js";

const steps = [
  ["receipt", "Receipt", showReceipt],
  ["preparation", "Preparation", showPreparation],
  ["flight", "After the flight", showFlight],
];

const main = document.getElementById("main");
let leave = () => {}, shown = 0;

async function show() {
  const mine = ++shown;
  leave();
  leave = () => {};
  const [, job, step] = location.hash.split("/").map(decodeURIComponent);
  const view = h("div", { class: "view" });
  main.replaceChildren(view);
  try {
    if (!job) {
      header(null, "");
      document.title = "Jobs – Selvage desk";
      await showJobs(view);
    } else {
      const [name, title, open] = steps.find(([name]) => name === step) || steps[0];
      header(job, name);
      document.title = `${title}, ${job} – Selvage desk`;
      const end = watch(job, () => view.before(changedElsewhere()));
      leave = end;
      const close = (await open(view, await get(jobPath(job)))) || (() => {});
      if (mine !== shown) {
        close();
        return;
      }
      leave = () => {
        end();
        close();
      };
    }
  } catch (fault) {
    view.replaceChildren(h("h1", {}, "That did not work"), h("p", { class: "fault" }, fault.message), h("p", {}, h("a", { href: "#/" }, "To the jobs")));
    say(fault.message);
  }
  main.focus({ preventScroll: true });
  scrollTo(0, 0);
}

function changedElsewhere() {
  const text = "This job was changed in another window or by a command.";
  say(text);
  return h("div", { class: "fault elsewhere" }, h("p", {}, `${text} What is shown here is from before; what you change here counts from then on.`),
    h("button", { type: "button", onclick: show }, "Show it as it is now"));
}

function header(job, current) {
  document.getElementById("top").replaceChildren(
    h("div", { class: "bar" },
      h("a", { href: "#/", class: "home" }, "Selvage desk"),
      h("button", { type: "button", class: "quiet", onclick: close }, "Close the desk")),
    job && h("nav", { "aria-label": "Steps of the job" },
      h("p", { class: "job" }, h("a", { href: "#/" }, "Jobs"), ` / ${job}`),
      h("ol", { class: "steps" }, steps.map(([name, title]) =>
        h("li", {}, h("a", { href: `#/${encodeURIComponent(job)}/${name}`, "aria-current": name === current && "step" }, title))))) || "");
}

async function close() {
  try { await post("api/quit"); } catch { /* it is closed already */ }
  document.getElementById("top").replaceChildren();
  main.replaceChildren(h("h1", {}, "The desk is closed"), h("p", {}, "Everything is kept in the folder of the jobs. This window can be closed."));
}

addEventListener("hashchange", show);
// A file that misses its place must not take the page away.
for (const kind of ["dragover", "drop"]) addEventListener(kind, (event) => event.preventDefault());
try { await startFigures(); } catch { /* the view says what is wrong */ }
show();
