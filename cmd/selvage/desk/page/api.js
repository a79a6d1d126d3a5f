/** The desk's JSON API; see API.md. Every refusal comes as a sentence. */

async function ask(path, init) {
  let response;
  try {
    response = await fetch(path, init);
  } catch (fault) {
    if (fault.name === "AbortError") throw fault;
    throw new Error("The program does not answer. It may have been closed; start it again, nothing is lost.");
  }
  if (response.status === 204) return null;
  const type = response.headers.get("Content-Type") || "";
  if (!type.startsWith("application/json")) throw new Error((await response.text()).trim() || `The program answered ${response.status}.`);
  const message = await response.json();
  if (!response.ok) throw new Error(message.error);
  return message;
}

export const get = (path) => ask(path);

/** Posts JSON, or the bytes of a Blob as they are. */
export function post(path, body = {}, signal = undefined) {
  return ask(path, { method: "POST", body: body instanceof Blob ? body : JSON.stringify(body), signal });
}

export const jobPath = (job, ...rest) => ["api/jobs", encodeURIComponent(job), ...rest.map(encodeURIComponent)].join("/");

/** Keeps what was typed for a command; who cannot be told of a fault here is told when it is run. */
export const keepTyped = (job, command, values) => post(jobPath(job, "typed", command), values).catch(() => {});

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
