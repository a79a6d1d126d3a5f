/** Receipt: what the client sent, and what has to be asked. */
import { filePath, jobPath, keeper, post, putFiles } from "./api.js";
import { counted, h, say } from "./html.js";
import { dropZone, fields, Flags } from "./form.js";

const expected = [
  { flag: "near", label: "Where the job is", hint: "latitude first, as in 54.7,2.3; leave blank if you do not know" },
  { flag: "expect-area", label: "How large it should be", hint: "as in 12.5ha or 30ac" },
  { flag: "crs", label: "Coordinate system, if the file does not say", hint: "as in EPSG:32632 or UTM 32N" },
  { flag: "min-width", label: "Point out ground narrower than", hint: "1m if left blank" },
  { flag: "close-path", label: "Take a path or a row of points as an outline", toggle: true },
];

/** Which flag answers a question. */
const answers = [
  ["crossing", ["lobes", "uncross", "outer"]],
  ["hole", ["clip", "drop"]],
  ["parts", ["union"]],
];

function flagFor(question) {
  const choices = question.candidates.map(({ choice }) => choice);
  if (choices.includes("hole")) return "parts";
  const known = answers.find(([, words]) => words.some((word) => choices.includes(word)));
  return known && known[0];
}

export async function showReceipt(view, job) {
  if (!job.settings.client) return askForBoundary(view, job);
  const flags = new Flags(job.settings.flags.vet);
  const typed = keeper(job.name, "vet", () => flags.values);
  const result = h("div", {});
  let last = 0;

  const vet = async () => {
    const run = ++last;
    result.replaceChildren(h("p", { class: "wait" }, "Checking the file …"));
    try {
      const { status, result: receipt } = await post(jobPath(job.name, "run", "vet"), flags.values);
      if (run === last) result.replaceChildren(...shown(status, receipt));
    } catch (fault) {
      if (run === last) result.replaceChildren(h("p", { class: "fault", role: "alert" }, fault.message));
    }
  };

  const shown = (status, receipt) => {
    const open = receipt.findings.filter(({ severity }) => severity === "needs-answer").length;
    say(open ? `${counted(open, "finding needs", "findings need")} an answer.` : "Nothing needs an answer.");
    return [
      receipt.questions.length ? h("section", {},
        h("h2", {}, "What the client has to say"),
        receipt.questions.map((question) => asked(question)),
        h("p", {}, h("button", { type: "button", onclick: () => copy(named(receipt, ".txt")) }, "Copy the questions as text for an e-mail"))) : "",
      h("section", {},
        h("h2", {}, "Receipt sheet"),
        h("iframe", { class: "report", title: "Receipt sheet", src: filePath(job.name, named(receipt, ".html")) }),
        saves(job.name, receipt.files)),
      h("p", { class: "next" }, h("a", { class: "button main", href: `#/${encodeURIComponent(job.name)}/preparation` }, "On to the preparation")),
    ];
  };

  const asked = (question) => {
    const flag = flagFor(question);
    return h("fieldset", { class: "question" },
      h("legend", {}, question.text),
      question.candidates.map((candidate) => h("label", { class: "candidate" },
        h("input", { type: "radio", name: `${flag}-${question.lon}-${question.lat}`, checked: candidate.used,
          onchange: () => { flags.set(flag, candidate.choice); vet(); } }),
        h("span", {}, candidate.text))));
  };

  const copy = async (mail) => {
    const text = await (await fetch(filePath(job.name, mail))).text();
    try {
      await navigator.clipboard.writeText(text);
      say("The text is on the clipboard.");
    } catch {
      say("The browser does not let the page copy; the text is in the file below.");
    }
  };

  view.append(h("h1", {}, "Receipt"), h("p", {}, `What ${job.settings.client} holds, what is wrong with it, and what has to be asked.`),
    h("details", { open: Object.keys(flags.values).length > 0 },
      h("summary", {}, "What you know of the job"),
      fields(flags, expected, typed.soon),
      h("p", {}, h("button", { type: "button", onclick: vet }, "Check again"))),
    result);
  await vet();
  return typed.end;
}

/** Where the page was left before the boundary file was in the job. */
function askForBoundary(view, job) {
  const fault = h("p", { class: "fault", role: "alert" });
  const take = async (files) => {
    try {
      const boundary = boundaryAmong(files);
      await putFiles(job.name, files.filter((file) => file !== boundary));
      await putFiles(job.name, [boundary], "client");
      dispatchEvent(new HashChangeEvent("hashchange")); // the view anew
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  view.append(h("h1", {}, "Receipt"), h("p", {}, "This job has no boundary file yet."),
    dropZone({ label: "Choose the client’s boundary file", hint: "or drop it here", many: true, taken: take }), fault);
}

/** Of a shapefile's files it is the .shp; otherwise the first. */
export const boundaryAmong = (files) => files.find((file) => /\.shp$/i.test(file.name)) || files[0];

/** The name of a file that was written, by its end. */
export const named = ({ files }, end) => files.map(({ path }) => path.split(/[\\/]/).pop()).find((name) => name.endsWith(end));

/** Links that save files. */
export function saves(job, files) {
  return h("ul", { class: "saves" }, files.map(({ role, path }) => {
    const name = path.split(/[\\/]/).pop();
    return h("li", {}, h("a", { class: "button", href: filePath(job, name, true), download: name }, `Save the ${role}`), h("span", { class: "place" }, name));
  }));
}
