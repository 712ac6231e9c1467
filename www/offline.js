// Has the site kept on the device (`worker.js` does it) and says in the page when it is, or when a newer version is there. The one-file
// page needs none of this.
const version = new URL(".", import.meta.url).pathname.split("/").at(-2);
const note = document.getElementById("offline");
const workers = navigator.serviceWorker;

function say(kept) {
  const newer = kept !== version;
  note.querySelector("span").textContent = newer
    ? "A newer version of this page is here. It shows when the page is loaded again; what you wrote is kept."
    : "This page is on your device now: it opens without a network, too.";
  note.querySelector("button").hidden = !newer;
  note.hidden = false;
}

// Where a browser keeps nothing, as in some private windows, the page does without.
async function keep() {
  const registration = await workers.register(new URL("../worker.js", import.meta.url));
  workers.controller?.postMessage("which version?");
  document.addEventListener("visibilitychange", () => document.hidden || registration.update().catch(() => {}));
}

note.querySelector("button").addEventListener("click", () => location.reload());
if (workers) {
  workers.addEventListener("message", ({ data }) => say(data));
  // After all that the page itself needs.
  addEventListener("load", () => keep().catch(() => {}));
}
