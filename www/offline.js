// Registers `worker.js`, which keeps the site on the device, and tells the reader when that is done or when there is a newer version. The
// single-file page doesn't need this.
const version = new URL(".", import.meta.url).pathname.split("/").at(-2);
const note = document.getElementById("offline");
const workers = navigator.serviceWorker;

function say(kept) {
  const newer = kept !== version;
  note.querySelector("span").textContent = newer
    ? "There is a newer version of this page. Reload to get it; your work is saved."
    : "This page is now on your device and works offline.";
  note.querySelector("button").hidden = !newer;
  note.hidden = false;
}

// Some browsers don't allow this in private windows; the page works without.
async function keep() {
  const registration = await workers.register(new URL("../worker.js", import.meta.url));
  workers.controller?.postMessage("which version?");
  document.addEventListener("visibilitychange", () => document.hidden || registration.update().catch(() => {}));
}

note.querySelector("button").addEventListener("click", () => location.reload());
if (workers) {
  workers.addEventListener("message", ({ data }) => say(data));
  // Not before everything that the page itself needs.
  addEventListener("load", () => keep().catch(() => {}));
}
