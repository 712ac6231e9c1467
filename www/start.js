import { page } from "./modules.js";

let started = false;

// The first tap on Play is given to the module once that is there.
let pressed;
for (const button of document.querySelectorAll("[data-play]"))
  button.addEventListener("click", () => (pressed = started ? undefined : button));

page()
  .then(() => {
    started = true;
    pressed?.click();
  })
  .catch(showFailure);

// A line that nobody keeps yet is not given up without a question.
addEventListener("beforeunload", (event) => {
  const text = document.getElementById("text");
  if (!started && text.value !== text.defaultValue) event.preventDefault();
});
