// Keeps the site on the device, so that its pages open without a network. The build fills in the version, and the files with their hashes.
//
// A version is kept whole or not at all. What a page loads after its markup lies in a folder named by the version: a page that is open goes
// on with the files it began with while the next one that opens is of the newer version, and the two are never mixed.
const VERSION = "{version}";
const FILES = {files};

// A host's caches are shared by all that lies on it; ours are named by where we are.
const SCOPE = registration.scope;
const OURS = `halfbar ${SCOPE} `;
const CACHE = OURS + VERSION;
// The folder of this version or of another one.
const FOLDER = /^[0-9a-f]{12}\//;

// The hashes refuse a file of another version, which a host may send while it is being filled.
async function fill() {
  const request = ([name, integrity]) => new Request(new URL(name, SCOPE), { cache: "no-cache", integrity });
  try {
    await (await caches.open(CACHE)).addAll(Object.entries(FILES).map(request));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
  await skipWaiting();
}

async function takeOver() {
  const others = (await caches.keys()).filter((name) => name.startsWith(OURS) && name !== CACHE);
  // Pages of the version before may be open still.
  await Promise.all(others.slice(0, -1).map((name) => caches.delete(name)));
  await clients.claim();
  for (const client of await clients.matchAll()) client.postMessage(VERSION);
}

async function answer(request, name) {
  const cache = name in FILES ? await caches.open(CACHE) : caches;
  const kept = await cache.match(new URL(name, SCOPE));
  if (!kept) return fetch(request);
  // A host may have sent it on to another name; a browser takes no such answer for a page.
  return kept.redirected ? new Response(kept.body, kept) : kept;
}

addEventListener("install", (event) => event.waitUntil(fill()));
addEventListener("activate", (event) => event.waitUntil(takeOver()));
addEventListener("message", ({ source }) => source.postMessage(VERSION));
addEventListener("fetch", (event) => {
  const { origin, pathname } = new URL(event.request.url);
  const address = origin + pathname;
  if (event.request.method !== "GET" || !address.startsWith(SCOPE)) return;
  const name = address.slice(SCOPE.length).replace(/^index\.html$/, "");
  // Whatever else lies on the host is none of ours.
  if (name in FILES || FOLDER.test(name)) event.respondWith(answer(event.request, name));
});
