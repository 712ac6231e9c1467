// Says in the page that the music could not be loaded. The site and the one-file page both load this.
function showFailure(error) {
  const note = document.getElementById("failure");
  note.textContent = `Sorry, the music could not be loaded (${error.message ?? error}). Please reload the page.`;
  note.hidden = false;
}

// A script that can't be fetched tells only its own element, so listen on the way down.
addEventListener("error", ({ target }) => target.tagName === "SCRIPT" && showFailure(`no ${target.src}`), true);
