// Writes the lesson into the page that Vite has built.
import { readFileSync, writeFileSync } from "node:fs";
import { renderToString } from "react-dom/server";
import { Lesson } from "./lesson.jsx";

const page = "dist/index.html";
writeFileSync(page, readFileSync(page, "utf8").replace(/<!--.*?-->/, () => renderToString(<Lesson />)));
