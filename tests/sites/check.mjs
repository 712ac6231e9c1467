// Whether the examples in a page still are what they were made from: their text byte for byte, their picture, and nothing loose beside them.
//
//     node check.mjs PAGE SELECTOR NAME...
//
// SELECTOR finds the examples in the page. Their names are those of `lines/NAME.txt` and, with the kind of markup, `examples/NAME.KIND.html`;
// `NAME.text` is the text alone.
import { deepEqual } from "node:assert/strict";
import { readFileSync } from "node:fs";
import { JSDOM } from "jsdom";

const examples = (file, selector) => {
  const all = new JSDOM(readFileSync(file, "utf8")).window.document.querySelectorAll(selector);
  return Array.from(all, (example) => {
    const picture = example.querySelector("svg")?.outerHTML;
    const texts = Array.from(example.querySelectorAll("pre"), (pre) => (pre.remove(), pre.textContent));
    if (example.hasAttribute("text")) texts.push(example.getAttribute("text"));
    return { texts, picture, loose: example.textContent.trim() };
  });
};

const [page, selector, ...names] = process.argv.slice(2);
const wanted = names.map((name) => {
  const [line, kind] = name.split(".");
  const markup = kind === "text" ? {} : examples(new URL(`examples/${name}.html`, import.meta.url), "half-bar")[0];
  return { picture: markup.picture, texts: [readFileSync(new URL(`lines/${line}.txt`, import.meta.url), "utf8")], loose: "" };
});
deepEqual(examples(page, selector), wanted);
