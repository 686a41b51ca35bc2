/** What the server said when it refused: `status`, the sentence to show, and messages per field. */
export class Refused extends Error {
  constructor(status, answer) {
    super(sentence(status, answer));
    this.name = "Refused";
    this.status = status;
    this.fields = answer && typeof answer === "object" && !("detail" in answer) ? answer : {};
  }
}

function sentence(status, answer) {
  if (answer && typeof answer === "object") {
    if (typeof answer.detail === "string") return answer.detail;
    const first = Object.values(answer).flat(Infinity).find((value) => typeof value === "string");
    if (first) return first;
  }
  return status === 0 ? "No connection." : `The server could not do this (${status}).`;
}

/** Django's cookie is the only place the token is needed from: pages may be older than it. */
export function csrfToken(cookies = document.cookie) {
  const pair = cookies.split("; ").find((entry) => entry.startsWith("csrftoken="));
  return pair ? decodeURIComponent(pair.slice("csrftoken=".length)) : "";
}

/**
 * fetch with the CSRF header; resolves to the parsed JSON (null for an empty answer),
 * rejects with `Refused` for anything but 2xx, status 0 when there is no connection; `isPage` where another
 * page has answered than the one that was asked.
 * body: a FormData or a Blob goes as it is, anything else as JSON.
 */
export async function send(method, url, body = null, { signal, headers: more = {} } = {}) {
  const headers = { Accept: "application/json", "X-CSRFToken": csrfToken(), ...more };
  const isRaw = body instanceof FormData || body instanceof Blob;
  if (body !== null && !isRaw) headers["Content-Type"] = "application/json";
  let answer, text;
  try {
    answer = await fetch(url, {
      method,
      headers,
      signal,
      credentials: "same-origin",
      body: body === null || isRaw ? body : JSON.stringify(body),
    });
    text = await answer.text();
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, null);
  }
  let parsed = null;
  try {
    parsed = text ? JSON.parse(text) : null;
  } catch {
    // an HTML error page: the status is all there is to tell
  }
  if (!answer.ok) throw Object.assign(new Refused(answer.status, parsed), { isPage: answer.redirected });
  return parsed;
}

/** As `send`, for what always answers with JSON: who is signed out is led to a page instead. */
export async function ask(method, url, body = null, options = {}) {
  const answer = await send(method, url, body, options);
  if (!answer || typeof answer !== "object") throw Object.assign(new Error(), { status: 0, isPage: true });
  return answer;
}
