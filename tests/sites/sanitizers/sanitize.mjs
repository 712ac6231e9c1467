// Prints what a sanitizer leaves of each file with its defaults, as a section of a page.
import { readFileSync } from "node:fs";
import createPurify from "dompurify";
import { JSDOM } from "jsdom";
import sanitizeHtml from "sanitize-html";

const [name, ...files] = process.argv.slice(2);
const sanitize = { dompurify: (markup) => createPurify(new JSDOM("").window).sanitize(markup), "sanitize-html": sanitizeHtml }[name];
for (const file of files) console.log(`<section>${sanitize(readFileSync(file, "utf8"))}</section>`);
