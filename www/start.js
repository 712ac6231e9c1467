import { desk, page } from "./modules.js";

page().catch(showFailure);

// Exercises and practice are a module of their own, fetched when a reader first opens a part of the page that needs it.
let opening;
const open = () => (opening ??= desk().catch((error) => ((opening = undefined), showFailure(error))));
for (const part of document.querySelectorAll("[data-desk]")) part.addEventListener("toggle", open);
