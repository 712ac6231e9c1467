// Whether the examples in a page still are what they were made from: their text byte for byte, their picture, and nothing loose beside them.
//
//     node check.mjs LINES PAGE SELECTOR EXAMPLE...
//
// LINES is the folder with the texts; SELECTOR finds the examples in the page; each EXAMPLE is a file of markup, in the order of the page.
import { deepEqual } from "node:assert/strict";
import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { JSDOM } from "jsdom";

const examples = (file, selector) => {
  const all = new JSDOM(readFileSync(file)).window.document.querySelectorAll(selector);
  return Array.from(all, (example) => {
    const picture = example.querySelector("svg")?.outerHTML;
    const texts = Array.from(example.querySelectorAll("pre"), (pre) => (pre.remove(), pre.textContent));
    return { texts, picture, loose: example.textContent.trim() };
  });
};

const [lines, page, selector, ...files] = process.argv.slice(2);
const wanted = files.map((file) => {
  const text = readFileSync(join(lines, `${basename(file).split(".")[0]}.txt`), "utf8");
  return { ...examples(file, "half-bar")[0], texts: [text], loose: "" };
});
deepEqual(examples(page, selector), wanted);
