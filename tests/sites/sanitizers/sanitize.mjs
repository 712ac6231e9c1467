// Prints what a sanitizer, with its defaults, leaves of each example, as a section of a page.
import { readFileSync } from "node:fs";
import createPurify from "dompurify";
import { JSDOM } from "jsdom";
import sanitizeHtml from "sanitize-html";

const [name, ...examples] = process.argv.slice(2);
const sanitize = { dompurify: (markup) => createPurify(new JSDOM("").window).sanitize(markup), "sanitize-html": sanitizeHtml }[name];
for (const example of examples) console.log(`<section>${sanitize(readFileSync(`../examples/${example}.html`, "utf8"))}</section>`);
