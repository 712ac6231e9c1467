// What an author of a page would write, with the types that the package brings.
import { HalfBar, type Recast } from "half-bar";
import "half-bar/half-bar.css";

const example = document.querySelector("half-bar");
if (!example) throw new Error("no example");
const heard: string[] = [];
example.addEventListener("halfbar-casting", ({ detail }) => {
  const [first]: Recast[] = detail.windows;
  heard.push(`${first?.figure} ${first?.spelling} at ${first?.bar}.${first?.beat}`);
});
example.addEventListener("halfbar-error", ({ detail: { code, line } }) => heard.push(`${code} in line ${line}`));
// @ts-expect-error: there is no such view
example.view = "sideways";
example.view = "staff";
// @ts-expect-error: a width is a number
example.width = "60";
example.width = 60;

await example.ready();
await example.recast(1, 3);
const again: boolean = await example.restore(1, 1);
// What is wrong with a text is told once its wording has come.
const told = new Promise((resolve) => example.addEventListener("halfbar-error", resolve, { once: true }));
example.text = "C4 H D E F G A B |";
await told;
document.title = [example instanceof HalfBar, example.drawn, again, ...heard].join(", ");
