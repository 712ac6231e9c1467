import { desk, page, paper } from "./modules.js";

// Practice, exercises and the lines that are kept are a module of their own. It is fetched when a reader first does anything, or when there
// is a line to show, from a link or from the last visit.
let opening;
let opened;
const open = () =>
  (opening ??= desk()
    .then((desk) => {
      document.getElementById("failure").hidden = true;
      return (opened = desk);
    })
    .catch((error) => {
      opening = undefined;
      showFailure(
        error,
        "practice, sound and your kept lines could not be loaded",
        "The line stays as long as this page is open. Press anything to try again.",
      );
    }));

const kept = () => {
  try {
    return localStorage.getItem("halfbar-lines") !== null;
  } catch {
    return false;
  }
};

page()
  .then(() => (location.hash.startsWith("#line=") || kept()) && open())
  .catch(showFailure);
for (const sign of ["pointerdown", "keydown", "dragover"]) addEventListener(sign, open);
for (const part of document.querySelectorAll("[data-desk]")) part.addEventListener("toggle", open);

// So are worksheets, which are made of what the second module has.
let unfolding;
const unfold = () =>
  (unfolding ??= open()
    .then((desk) => (desk ? paper(desk) : (unfolding = undefined)))
    .catch((error) => {
      unfolding = undefined;
      showFailure(error, "worksheets could not be loaded", "Fold them away and out again to try again.");
    }));
document.getElementById("worksheet").addEventListener("toggle", unfold);

// The first tap on Play is given to the module once it is there.
for (const button of document.querySelectorAll("[data-play]"))
  button.addEventListener("click", () => opened || open().then((loaded) => loaded && button.click()));

// A line that nobody keeps yet is not given up without a question.
addEventListener("beforeunload", (event) => {
  const text = document.getElementById("text");
  if (!opening && text.value !== text.defaultValue) event.preventDefault();
});
