/** The desk's JSON API; see API.md. Every refusal comes as a sentence. */

async function ask(path, init) {
  let response;
  try {
    response = await fetch(path, init);
  } catch (fault) {
    if (fault.name === "AbortError") throw fault;
    throw new Error("The program does not answer. It may have been closed: start it again. Nothing is lost.");
  }
  if (response.status === 204) return null;
  noticed(path, response.headers.get("Job-State"));
  const type = response.headers.get("Content-Type") || "";
  if (!type.startsWith("application/json")) throw new Error((await response.text()).trim() || `The program answered ${response.status}.`);
  const message = await response.json();
  if (!response.ok) throw new Error(message.error);
  return message;
}

// Requests about a job go one after the other, so that what was typed last is
// kept last, and seen by the next view.
const jobOf = (path) => path.match(/^api\/jobs\/[^/?]+/)?.[0];
const queues = new Map();
let waiting = 0;

function inTurn(path, init) {
  const job = jobOf(path);
  if (!job) return ask(path, init);
  waiting++;
  const mine = (queues.get(job) ?? Promise.resolve()).then(() => ask(path, init)).finally(() => waiting--);
  queues.set(job, mine.catch(() => {}));
  return mine;
}

export const get = (path) => inTurn(path);

/** Posts JSON, or the bytes of a Blob as they are. */
export function post(path, body = {}, signal = undefined) {
  return inTurn(path, { method: "POST", body: body instanceof Blob ? body : JSON.stringify(body), signal });
}

export const jobPath = (job, ...rest) => ["api/jobs", encodeURIComponent(job), ...rest.map(encodeURIComponent)].join("/");

// The state of the job that is shown, as this page knows it.
let shown = "", known = "", tell = null;

function noticed(path, states) {
  if (!states || jobOf(path) !== shown) return;
  const [before, after] = states.split(" ");
  if (known && before !== known && tell) {
    tell();
    tell = null;
  }
  known = after;
}

const LOOK = 3000; // milliseconds

/** Has `told` called, once, when somebody else changes the job; ends with the function that is returned. */
export function watch(job, told) {
  [shown, known, tell] = [jobPath(job), "", told];
  const look = () => { if (!waiting && !document.hidden) get(jobPath(job)).catch(() => {}); };
  const timer = setInterval(look, LOOK);
  document.addEventListener("visibilitychange", look);
  return () => {
    clearInterval(timer);
    document.removeEventListener("visibilitychange", look);
    [shown, tell] = ["", null];
  };
}

/**
 * Keeps what is typed for a command, once the user has paused, or at the latest
 * when the page is left. A fault is told when the command is run.
 * @param {() => object} values
 * @returns {{soon: () => void, end: () => void}}
 */
export function keeper(job, command, values) {
  const path = jobPath(job, "typed", command);
  let timer = 0;
  const keep = (rush) => {
    if (!timer) return;
    clearTimeout(timer);
    timer = 0;
    if (rush) fetch(path, { method: "POST", body: JSON.stringify(values()), keepalive: true }).catch(() => {});
    else post(path, values()).catch(() => {});
  };
  const leave = () => keep(true);
  addEventListener("pagehide", leave);
  return {
    soon: () => {
      clearTimeout(timer);
      timer = setTimeout(keep, 300, false);
    },
    end: () => {
      removeEventListener("pagehide", leave);
      keep(false);
    },
  };
}

/** Where a file of a job can be seen; `save` has the browser save it. */
export function filePath(job, file, save = false) {
  return `jobs/${encodeURIComponent(job)}/${encodeURIComponent(file)}${save ? "?save" : ""}`;
}

/** Puts files into a job, one after the other, and returns the job. */
export async function putFiles(job, files, as = "") {
  let message = null;
  for (const file of files) {
    message = await post(jobPath(job, "files", file.name) + (as ? `?as=${as}` : ""), file);
  }
  return message;
}
