// What readers and scripts do on any page: each example shows its text or its picture, is drawn, is recast, and says so. The title tells how
// that went.
const next = (type) => new Promise((resolve) => document.addEventListener(type, ({ detail }) => resolve(detail), { once: true }));
const check = (holds, what) => {
  if (!holds) throw new Error(what);
};

const wait = () => new Promise((resolve) => setTimeout(resolve, 500));

await customElements.whenDefined("half-bar");
// An application may make its examples later.
await wait();
const examples = [...document.querySelectorAll("half-bar")];
try {
  for (const example of examples) {
    const [text, picture] = [example.querySelector("pre"), example.querySelector("svg")];
    check(!(text?.checkVisibility() && picture?.checkVisibility()), "text and picture both show");
    await example.ready();
    check(example.drawn, "not drawn");
    check(!text?.checkVisibility() && !picture?.checkVisibility(), "what is inside the tag shows beside the drawing");
    const heard = next("halfbar-casting");
    await example.recast(1, 1, "split-middle", "tied");
    const { text: now, windows } = await heard;
    check(windows[0].figure === "split-middle" && now === example.text, "another casting");
  }
  // It may show what it heard.
  await wait();
  document.title = [`${examples.length} drawn and recast`, ...[...document.querySelectorAll("output")].map(({ textContent }) => textContent)].join(", ");
} catch (error) {
  document.title = error.message;
}
