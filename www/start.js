import { Piece, desk, page } from "./modules.js";

page().catch(showFailure);

// The picture of a line's text.
function draw(text) {
  const piece = new Piece(text);
  const picture = piece.svg({ width: 60, head: false });
  piece.free();
  return picture;
}

// Exercises and practice are a module of their own, fetched when a reader first opens a part of the page that needs it.
let opening;
let opened = false;
const open = () =>
  (opening ??= desk(draw)
    .then(() => (opened = true))
    .catch((error) => ((opening = undefined), showFailure(error))));
for (const part of document.querySelectorAll("[data-desk]")) part.addEventListener("toggle", open);

// So does the first tap on Play, which is then given to the module.
for (const button of document.querySelectorAll("[data-play]"))
  button.addEventListener("click", () => opened || open().then((loaded) => loaded && button.click()));
