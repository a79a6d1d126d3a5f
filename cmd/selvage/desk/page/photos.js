/** Sends the heads of photos to the program on this computer. */
import { jobPath, post } from "./api.js";

export const HEAD = 128 * 1024; // bytes of each photo
const BATCH = 48; // photos in one request
const formats = /\.(jpe?g|tiff?|dng|hei[cf]|hif|png)$/i;

/** The photos among files; those whose names begin with a dot are none. */
export const photosAmong = (files) => files.filter(({ name }) => formats.test(name) && !name.startsWith("."));

/**
 * @param {string} job
 * @param {File[]} photos
 * @param {Object<string, string>} properties  XMP property by what it holds
 * @param {(done: number, tally: object) => void} progress
 * @param {AbortSignal} signal
 * @returns the tally of all
 */
export async function sendHeads(job, photos, properties, progress, signal) {
  const { reading } = await post(jobPath(job, "photos", "begin"), properties, signal);
  const step = (stage) => `${jobPath(job, "photos", stage)}?reading=${reading}`;
  let sent = 0;
  // The next batch is read while the last one is on its way.
  let ready = framed(photos.slice(0, BATCH));
  for (let from = 0; from < photos.length; from += BATCH) {
    const batch = await ready;
    ready = framed(photos.slice(from + BATCH, from + 2 * BATCH));
    const tally = await post(step("heads"), batch, signal);
    sent = Math.min(from + BATCH, photos.length);
    progress(sent, tally);
  }
  await ready;
  return post(step("end"), {}, signal);
}

/** Photos as the program takes them: see API.md. */
async function framed(photos) {
  const encoder = new TextEncoder();
  const parts = [];
  const heads = await Promise.all(photos.map(async (photo) => {
    try {
      return await photo.slice(0, HEAD).arrayBuffer();
    } catch {
      return new ArrayBuffer(0); // the card was pulled: the program says that nothing could be read
    }
  }));
  photos.forEach((photo, i) => {
    const about = encoder.encode(JSON.stringify({ name: photo.path || photo.webkitRelativePath || photo.name, size: photo.size }));
    parts.push(length(about.byteLength), about, length(heads[i].byteLength), heads[i]);
  });
  return new Blob(parts);
}

function length(n) {
  const bytes = new Uint8Array(4);
  new DataView(bytes.buffer).setUint32(0, n);
  return bytes;
}
