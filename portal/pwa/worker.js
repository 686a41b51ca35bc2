/**
 * Runs beside the pages. Styles and scripts come from this phone; pages come from the server and,
 * where it does not answer within three seconds, from what this phone has kept for the person who
 * is signed in. What was kept is gone once the server says that it is somebody else, or nobody.
 * SHELL {name, files, static} stands above this, written by the server.
 */
const RACE_MS = 3000;
const OFFLINE = "/offline/";
const WHO = "who";
const PAGES = "pages-";
const CLIPS = "clips-";
const MOST_PAGES = 40;
// Clips on one phone: all of them together, and one alone. The oldest go first, today's never.
const MOST_CLIP_BYTES = 60 * 1024 * 1024;
const MOST_ONE_CLIP_BYTES = 15 * 1024 * 1024;

const KEY = "[0-9a-f-]{36}";
const LOG = new RegExp(`^/workouts/of/${KEY}/log/$`);
const GROUP = new RegExp(`^/workouts/squads/${KEY}/log/$`);
const KEPT_PAGES = [
  LOG, GROUP, /^\/today\/$/, new RegExp(`^/goals/work/${KEY}/$`),
  new RegExp(`^/workouts/of/${KEY}/(shots/)?$`),
];
const KEPT_PARTS = [new RegExp(`^/goals/players/${KEY}/plan-drills/$`), new RegExp(`^/feedback/deliveries/${KEY}/(still|captions)/$`)];
const CLIP = new RegExp(`^/feedback/deliveries/${KEY}/clip/$`);
const LEAVING = /^\/(accounts\/logout|people\/phone\/(leave|switch))\/$/;
const CLOSED = new Set([403, 404, 410]);
const HASHED = /\.[0-9a-f]{12}\.\w+$/;

const isOne = (patterns, path) => patterns.some((one) => one.test(path));

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => {
  const { keep, use } = event.data ?? {};
  if (use === "new") self.skipWaiting();
  if (keep) event.waitUntil(keepAhead(keep).finally(() => event.ports[0]?.postMessage("kept")));
});

async function install() {
  const cache = await caches.open(SHELL.name);
  const fresh = SHELL.files.map((path) => new Request(path, { cache: HASHED.test(path) ? "default" : "reload" }));
  await cache.addAll([...fresh, new Request(OFFLINE, { credentials: "omit", cache: "reload" })]);
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith("static-") && name !== SHELL.name) await caches.delete(name);
  }
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method !== "GET") {
    if (LEAVING.test(url.pathname)) event.waitUntil(forget());
    return;
  }
  if (url.pathname.startsWith(SHELL.static)) event.respondWith(fromShell(request, url));
  else if (CLIP.test(url.pathname)) event.respondWith(clip(request, url));
  else if (request.mode === "navigate" || isOne(KEPT_PARTS, url.pathname)) event.respondWith(page(event, url));
});

// --- the portal's own files ---

async function fromShell(request, url) {
  const cache = await caches.open(SHELL.name);
  const kept = await cache.match(url.pathname);
  if (kept && HASHED.test(url.pathname)) return kept;
  try {
    const answer = await fetch(request);
    if (answer.ok && answer.status === 200 && HASHED.test(url.pathname)) await cache.put(url.pathname, answer.clone());
    return answer;
  } catch (error) {
    if (kept) return kept;
    throw error;
  }
}

// --- whose phone it is at the moment ---

async function who() {
  const kept = await (await caches.open(WHO)).match("/who");
  return kept ? kept.json() : { person: "", since: 0 };
}

async function forget(but = "") {
  const kept = new Set(but ? [PAGES + but, CLIPS + but] : []);
  for (const name of await caches.keys()) {
    if ((name.startsWith(PAGES) || name.startsWith(CLIPS)) && !kept.has(name)) await caches.delete(name);
  }
  if (!but) await setWho("", Date.now());
}

async function setWho(person, since) {
  await (await caches.open(WHO)).put("/who", new Response(JSON.stringify({ person, since })));
}

/** Notes who the server says is signed in; the person that this answer may be kept for, or "". */
async function belongsTo(answer, asked) {
  const person = answer.headers.get("X-Person");
  if (person === null || answer.redirected) return "";
  const known = await who();
  if (known.person === person) return person;
  // An answer that was asked for before somebody else took over says nothing about now.
  if (asked < known.since) return "";
  await forget(person);
  await setWho(person, asked);
  return person;
}

// --- pages ---

/** The drill is chosen by the page's script, so one log page serves for all drills; that of a group in any order. */
function placeOf(url) {
  if (LOG.test(url.pathname)) return url.pathname;
  const players = GROUP.test(url.pathname) ? playersOf(url) : [];
  return url.pathname + (players.length ? `?${new URLSearchParams(players.map((one) => ["player", one]))}` : url.search);
}

const playersOf = (url) => [...new Set(url.searchParams.getAll("player"))].sort();

async function page(event, url) {
  const asked = Date.now();
  const fresh = fetch(event.request).then(async (answer) => {
    event.waitUntil(noted(url, answer.clone(), asked));
    return answer;
  });
  const settled = fresh.then((answer) => ({ answer }), (error) => ({ error }));
  event.waitUntil(settled);
  const first = await Promise.race([settled, new Promise((done) => setTimeout(() => done({}), RACE_MS))]);
  if (first.answer && first.answer.status < 502) return first.answer;
  const kept = await keptPage(url);
  if (kept) return kept;
  const last = await settled;
  if (last.answer) return last.answer;
  if (event.request.mode !== "navigate") throw last.error;
  return (await instead(url)) ?? Response.error();
}

async function noted(url, answer, asked) {
  const isPart = isOne(KEPT_PARTS, url.pathname);
  const isPage = answer.headers.has("X-Person");
  const person = isPage ? await belongsTo(answer, asked) : (await who()).person;
  if (!person || answer.status !== 200 || answer.redirected || answer.headers.get("X-Keep") === "no") return;
  if (!isPage && asked < (await who()).since) return;
  if (isPart || isOne(KEPT_PAGES, url.pathname)) await keepPage(person, placeOf(url), answer);
}

async function keepPage(person, place, answer) {
  const cache = await caches.open(PAGES + person);
  await cache.put(place, answer);
  const all = await cache.keys();
  for (const old of all.slice(0, Math.max(0, all.length - MOST_PAGES))) await cache.delete(old);
  // Somebody else took over meanwhile.
  if ((await who()).person !== person) await caches.delete(PAGES + person);
}

async function keptPage(url) {
  const { person } = await who();
  if (!person) return undefined;
  const cache = await caches.open(PAGES + person);
  const kept = await cache.match(placeOf(url));
  if (!kept && GROUP.test(url.pathname)) return groupWith(cache, url);
  return kept ?? (url.pathname === "/today/" ? cache.match("/today/") : undefined);
}

/** The kept page of the same squad with the fewest players that has all who are asked for. */
async function groupWith(cache, url) {
  const wanted = playersOf(url);
  const others = (await cache.keys()).map((request) => ({ request, url: new URL(request.url) }))
    .filter((one) => one.url.pathname === url.pathname)
    .map((one) => ({ ...one, players: playersOf(one.url) }))
    .filter(({ players }) => wanted.length && wanted.every((one) => players.includes(one)))
    .sort((one, other) => one.players.length - other.players.length);
  return others.length ? cache.match(others[0].request) : undefined;
}

/** Without a connection: the first page leads on to Today, any other is told to be missing. */
async function instead(url) {
  if (url.pathname === "/" && (await keptPage(new URL("/today/", url)))) return Response.redirect("/today/", 302);
  return (await caches.open(SHELL.name)).match(OFFLINE);
}

// --- what is fetched ahead ---

async function keepAhead({ pages, clips, person }) {
  for (const path of pages) {
    if (!isOne([...KEPT_PAGES, ...KEPT_PARTS], new URL(path, self.location).pathname)) continue;
    const asked = Date.now();
    try {
      const headers = { "X-Keep": "1", "X-Person": person };
      const answer = await fetch(path, { headers, credentials: "same-origin" });
      if (answer.status === 401) return;
      await noted(new URL(path, self.location), answer, asked);
    } catch {
      return;
    }
  }
  const today = new Set(clips.map((one) => one.path));
  for (const one of clips) await keepClip(one, today, person).catch(() => {});
  await dropClosed(today, person);
}

/**
 * Kept once for each version. From a bucket it comes only where the bucket lets our pages read
 * (CORS): else the fetch fails, and that clip needs a connection. No header of ours goes along,
 * which a bucket would have to be asked about first.
 */
async function keepClip({ path, version }, today, person) {
  if ((await who()).person !== person) return;
  const cache = await caches.open(CLIPS + person);
  if ((await cache.match(path))?.headers.get("X-Version") === version) return;
  const answer = await fetch(path, { credentials: "same-origin", cache: "no-store" });
  const isLarge = Number(answer.headers.get("Content-Length")) > MOST_ONE_CLIP_BYTES;
  if (answer.status !== 200 || isLarge) {
    await answer.body?.cancel();
    return;
  }
  const bytes = await answer.blob();
  if (bytes.size > MOST_ONE_CLIP_BYTES || !(await makeRoom(cache, bytes.size, path, today))) return;
  const told = { "Content-Length": bytes.size, "X-Kept-At": Date.now(), "X-Version": version };
  told["Content-Type"] = answer.headers.get("Content-Type") ?? "video/mp4";
  await cache.put(path, new Response(bytes, { headers: told }));
  if ((await who()).person !== person) await caches.delete(CLIPS + person);
}

async function keptClips(cache) {
  const rows = [];
  for (const request of await cache.keys()) {
    const { headers } = await cache.match(request);
    const [at, bytes] = [Number(headers.get("X-Kept-At")), Number(headers.get("Content-Length"))];
    rows.push({ request, path: new URL(request.url).pathname, at, bytes });
  }
  return rows.sort((one, other) => one.at - other.at);
}

/** The oldest go, of today none; false where there is no room even so. */
async function makeRoom(cache, bytes, path, today) {
  const rows = (await keptClips(cache)).filter((one) => one.path !== path);
  let sum = rows.reduce((total, one) => total + one.bytes, bytes);
  for (const one of rows.filter((row) => !today.has(row.path))) {
    if (sum <= MOST_CLIP_BYTES) break;
    await cache.delete(one.request);
    sum -= one.bytes;
  }
  return sum <= MOST_CLIP_BYTES;
}

/** An earlier clip stays while there is room, and while the server would still show it. */
async function dropClosed(today, person) {
  if (!(await caches.has(CLIPS + person))) return;
  const cache = await caches.open(CLIPS + person);
  for (const { request, path } of await keptClips(cache)) {
    if (today.has(path)) continue;
    const answer = await fetch(path, { method: "HEAD", credentials: "same-origin", redirect: "manual" }).catch(() => null);
    if (answer && CLOSED.has(answer.status)) await cache.delete(request);
  }
}

/** From the server, whose right to it counts; from this phone where the server does not answer. */
async function clip(request, url) {
  const { person } = await who();
  const cache = person && (await caches.has(CLIPS + person)) && (await caches.open(CLIPS + person));
  const kept = cache && (await cache.match(url.pathname));
  if (!kept) return fetch(request);
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), RACE_MS);
  try {
    const answer = await fetch(request, { signal: patience.signal });
    clearTimeout(timer);
    if (CLOSED.has(answer.status)) await cache.delete(url.pathname);
    if (answer.status < 502) return answer;
  } catch {
    clearTimeout(timer);
  }
  return part(kept, request.headers.get("Range"));
}

async function part(kept, range) {
  const bytes = await kept.blob();
  const asked = /^bytes=(\d+)-(\d*)$/.exec(range ?? "");
  const type = kept.headers.get("Content-Type");
  const headers = { "Content-Type": type, "Accept-Ranges": "bytes", "Content-Length": bytes.size };
  if (!asked) return new Response(bytes, { headers });
  const from = Number(asked[1]);
  const to = Math.min(asked[2] === "" ? bytes.size - 1 : Number(asked[2]), bytes.size - 1);
  if (from > to) return new Response(null, { status: 416, headers: { "Content-Range": `bytes */${bytes.size}` } });
  headers["Content-Length"] = to - from + 1;
  headers["Content-Range"] = `bytes ${from}-${to}/${bytes.size}`;
  return new Response(bytes.slice(from, to + 1, type), { status: 206, headers });
}
