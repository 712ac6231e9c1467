import { page } from "./modules.js";

let started = false;

// A tap on Play before the module has loaded is passed on to it.
let pressed;
for (const button of document.querySelectorAll("[data-play]"))
  button.addEventListener("click", () => (pressed = started ? undefined : button));

page()
  .then(() => {
    started = true;
    pressed?.click();
  })
  .catch(showFailure);

// Ask before leaving with a changed line that has not been saved.
addEventListener("beforeunload", (event) => {
  const text = document.getElementById("text");
  if (!started && text.value !== text.defaultValue) event.preventDefault();
});
