// Helpers for the scenarios. They go before every script.
const all = (selector, inside = document) => [...inside.querySelectorAll(selector)];
const one = (selector) => document.querySelector(selector);
const text = () => one("#text");
// The drawn systems, without the pictures in the pads.
const systems = () => all("#sheet .row > div > svg.system");
const drawn = (role) => systems().flatMap((system) => all(`g.${role}`, system));
const pads = () => all("#sheet button.pad");
// In 4/4, with beats in quarter notes.
const pad = (bar, beat) => pads().find((button) => button.dataset.start === `${4 * (bar - 1) + beat - 1}`);
// The problem with this message.
const problem = (said) => all("#problems button").find((button) => button.firstChild.textContent.includes(said));
const shown = (element) => element.checkVisibility();
const label = (element) => element?.getAttribute("aria-label") ?? null;
const box = (element) => {
  const { left, top, right, bottom } = element.getBoundingClientRect();
  return { left, top: top + scrollY, right, bottom: bottom + scrollY };
};
const music = () => ({
  counts: {
    notes: drawn("note").length,
    rests: drawn("rest").length,
    tuplets: drawn("tuplet").length,
    ties: drawn("tie").length,
    chords: drawn("chord").length,
  },
  frets: drawn("fret").length,
  systems: systems().map((system) => system.outerHTML),
});
