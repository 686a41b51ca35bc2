import { csrfToken, Refused } from "../portal/http.js";

/** A client of tus 1.0: begins an upload, sends a file in chunks, goes on where the server stands. */
const VERSION = "1.0.0";
const CONTENT_TYPE = "application/offset+octet-stream";
const FIRST_BYTES = 4096;
const MIB = 1024 * 1024;
const CHUNK = 8 * MIB;
const LEAST_CHUNK = MIB;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15_000];
// Busy, in the wrong place, damaged on the way, no room just now: trying again may help.
const WORTH_A_TRY = new Set([0, 408, 409, 423, 425, 429, 460, 500, 502, 503, 504, 507]);
const HASHED = 64 * 1024;

function base64(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text);
}

function metadata(words) {
  const encoder = new TextEncoder();
  return Object.entries(words).map(([key, value]) => `${key} ${base64(encoder.encode(String(value)))}`).join(",");
}

/** FNV-1a, twice: no page over plain http has crypto.subtle, and a mix-up is all it guards against. */
function hash(bytes, seed) {
  let sum = seed;
  for (const byte of bytes) sum = Math.imul(sum ^ byte, 0x01000193) >>> 0;
  return sum.toString(16).padStart(8, "0");
}

/** By what the same file is known again: its size, and its first and last bytes. */
export async function fingerprint(file) {
  const ends = new Blob([file.slice(0, HASHED), file.slice(Math.max(0, file.size - HASHED))]);
  const bytes = new Uint8Array(await ends.arrayBuffer());
  return `${file.size}-${hash(bytes, 0x811c9dc5)}${hash(bytes, 0x01234567)}`;
}

/** One request; resolves to {status, header(name), answer}. Status 0: no connection. */
function ask(method, url, { headers = {}, body = null, progress = () => {}, signal } = {}) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    const stop = () => request.abort();
    const end = () => {
      signal?.removeEventListener("abort", stop);
      let answer = null;
      try {
        answer = JSON.parse(request.responseText);
      } catch {
        // an empty answer, or a page of a proxy: the status is all there is
      }
      resolve({ status: request.status, header: (name) => request.getResponseHeader(name), answer });
    };
    request.open(method, url);
    for (const [name, value] of Object.entries({ "Tus-Resumable": VERSION, "X-CSRFToken": csrfToken(), Accept: "application/json", ...headers })) {
      request.setRequestHeader(name, value);
    }
    request.upload.addEventListener("progress", (event) => progress(event.loaded));
    request.addEventListener("load", end);
    request.addEventListener("error", end);
    request.addEventListener("timeout", end);
    request.addEventListener("abort", () => reject(new DOMException("stopped", "AbortError")));
    if (signal?.aborted) return reject(new DOMException("stopped", "AbortError"));
    signal?.addEventListener("abort", stop, { once: true });
    request.send(body);
  });
}

function refuse(answer) {
  throw new Refused(answer.status, answer.answer);
}

/** Begin an upload; resolves to its address. words: what `Upload-Metadata` says. Rejects with Refused. */
export async function begin(url, file, words, { signal } = {}) {
  // With its first bytes the server can tell at once what is no film.
  const headers = { "Upload-Length": String(file.size), "Upload-Metadata": metadata(words), "Content-Type": CONTENT_TYPE };
  const answer = await ask("POST", url, { headers, body: file.slice(0, FIRST_BYTES), signal });
  if (answer.status !== 201) refuse(answer);
  return answer.header("Location");
}

/** Throw away what is there of an upload. */
export async function remove(url) {
  const answer = await ask("DELETE", url);
  if (answer.status !== 204 && answer.status !== 404) refuse(answer);
}

function pause(ms, signal) {
  return new Promise((resolve, reject) => {
    const end = (run, value) => {
      clearTimeout(timer);
      removeEventListener("online", now);
      run(value);
    };
    const now = () => end(resolve);
    const timer = setTimeout(now, ms);
    addEventListener("online", now, { once: true });
    signal.addEventListener("abort", () => end(reject, new DOMException("stopped", "AbortError")), { once: true });
  });
}

async function checksum(chunk) {
  if (!globalThis.crypto?.subtle) return {};
  const sum = await crypto.subtle.digest("SHA-256", await chunk.arrayBuffer());
  return { "Upload-Checksum": `sha256 ${base64(new Uint8Array(sum))}` };
}

/**
 * Send `file` to the upload at `url` until all of it is there, from where the server stands, again
 * and again while that may help. progress(bytes there); trouble(sentence, or "" when it is over).
 * Rejects with Refused where trying again is useless, with AbortError when `signal` says stop.
 */
export async function send(url, file, { progress = () => {}, trouble = () => {}, signal }) {
  let chunk = CHUNK;
  let failures = 0;
  let offset = null;
  while (offset === null || offset < file.size) {
    const answer = offset === null ? await ask("HEAD", url, { signal }) : await part(offset);
    if (answer.status === 200 || answer.status === 204) {
      const there = Number(answer.header("Upload-Offset"));
      if (offset === null || there > offset) {
        if (offset !== null) [failures, chunk] = [0, Math.min(CHUNK, chunk * 2)];
        trouble("");
      }
      offset = there;
      progress(offset);
      continue;
    }
    if (!WORTH_A_TRY.has(answer.status)) refuse(answer);
    offset = null;
    chunk = Math.max(LEAST_CHUNK, chunk / 2);
    trouble(answer.status ? new Refused(answer.status, answer.answer).message : null);
    await pause(WAITS_MS[Math.min(failures, WAITS_MS.length - 1)], signal);
    failures += 1;
  }

  async function part(from) {
    const piece = file.slice(from, from + chunk);
    const headers = { "Upload-Offset": String(from), "Content-Type": CONTENT_TYPE };
    try {
      Object.assign(headers, await checksum(piece));
    } catch (error) {
      // The file was changed or moved since it was chosen.
      throw Object.assign(new Refused(0, null), { name: "FileGone", cause: error });
    }
    return ask("PATCH", url, { headers, body: piece, signal, progress: (sent) => progress(from + sent) });
  }
}
