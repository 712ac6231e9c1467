// Whether the examples in a page still are what they were made from: their text byte for byte, their picture, and nothing loose beside them.
//
//     node check.mjs PAGE SELECTOR NAME...
//
// SELECTOR finds the examples in the page. Their names are those of `lines/NAME.txt` and, with the kind of markup, `examples/NAME.KIND.html`;
// `NAME.text` is the text alone, and `NAME.src` has it elsewhere.
import { readFileSync } from "node:fs";
import { inspect } from "node:util";
import { JSDOM } from "jsdom";

const read = (path) => readFileSync(new URL(path, import.meta.url), "utf8");
const examples = (html, selector) =>
  Array.from(new JSDOM(html).window.document.querySelectorAll(selector), (example) => {
    const picture = example.querySelector("svg")?.outerHTML;
    const pres = Array.from(example.querySelectorAll("pre"), (pre) => (pre.remove(), pre.textContent));
    return { text: example.getAttribute("text") ?? pres.join(""), picture, loose: example.textContent.trim() };
  });

const [page, selector, ...names] = process.argv.slice(2);
const found = examples(readFileSync(page, "utf8"), selector);
const differ = (what, is, wanted) => {
  if (is === wanted) return;
  const [one, other] = [is, wanted].map((value) => inspect(value, { maxStringLength: 1000 }));
  console.log(`${page}: ${what} is ${one} instead of ${other}`);
  process.exitCode = 1;
};
differ("the number of examples", found.length, names.length);
names.forEach((name, index) => {
  const [line, kind] = name.split(".");
  const { text, picture, loose } = found[index] ?? {};
  differ(`the text of ${name}`, text, kind === "src" ? "" : read(`lines/${line}.txt`));
  differ(`the picture of ${name}`, picture, kind === "half-bar" ? examples(read(`examples/${name}.html`), "half-bar")[0].picture : undefined);
  differ(`what is loose in ${name}`, loose, "");
});
