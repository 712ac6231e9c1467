// Tells the reader what could not be loaded. Both the site and the single-file page load this.
function showFailure(error, what = "the music could not be loaded", then = error.remedy ?? "Please reload the page.") {
  const note = document.getElementById("failure");
  note.textContent = `Sorry, ${what} (${error.message ?? error}). ${then}`;
  note.hidden = false;
}

// A script that can't be fetched fires an error on its own element only, so listen in the capture phase. The page works without offline.js.
addEventListener(
  "error",
  ({ target }) => target.tagName === "SCRIPT" && !target.src.endsWith("offline.js") && showFailure(`could not fetch ${target.src}`),
  true,
);
