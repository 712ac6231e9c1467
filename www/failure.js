// Says in the page what could not be loaded. The site and the one-file page both load this.
function showFailure(error, what = "the music could not be loaded", then = error.remedy ?? "Please reload the page.") {
  const note = document.getElementById("failure");
  note.textContent = `Sorry, ${what} (${error.message ?? error}). ${then}`;
  note.hidden = false;
}

// A script that can't be fetched tells only its own element, so listen on the way down. The page can do without being kept.
addEventListener(
  "error",
  ({ target }) => target.tagName === "SCRIPT" && !target.src.endsWith("offline.js") && showFailure(`no ${target.src}`),
  true,
);
