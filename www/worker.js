// Keeps the site on the device, so that its pages open without a network. The build fills in the version and the files with their hashes.
//
// A version is kept completely or not at all. Everything that a page loads after its markup is in a folder named after the version, so a page that is
// open continues with the files it started with, the next one to open gets the newer version, and the two never mix.
const VERSION = "{version}";
const FILES = {files};

// An origin's caches are shared by all its sites, so ours are named after our scope.
const SCOPE = registration.scope;
const OURS = `halfbar ${SCOPE} `;
const CACHE = OURS + VERSION;
// A version's folder, this one's or another's.
const FOLDER = /^[0-9a-f]{12}\//;

// The hashes reject files of another version, which a host may send in the middle of an upload.
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
  // Pages of the previous version may still be open.
  await Promise.all(others.slice(0, -1).map((name) => caches.delete(name)));
  await clients.claim();
  for (const client of await clients.matchAll()) client.postMessage(VERSION);
}

async function answer(request, name) {
  const cache = name in FILES ? await caches.open(CACHE) : caches;
  const kept = await cache.match(new URL(name, SCOPE));
  if (!kept) return fetch(request);
  // The host may have redirected the request; a browser doesn't accept such a response for a navigation.
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
  // Anything else on the host is not ours.
  if (name in FILES || FOLDER.test(name)) event.respondWith(answer(event.request, name));
});
