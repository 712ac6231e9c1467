// Where the WebAssembly modules come from. The one-file page has them inside instead.
import init, { picture, start } from "./halfbar_wasm.js";

export const page = () => init().then(start);
export const desk = async () => {
  const desk = await import("./halfbar_desk.js");
  await desk.default();
  desk.open(picture, new URL("hear.js", import.meta.url).href);
  return desk;
};
export const paper = async ({ lines, texts }) => {
  const paper = await import("./halfbar_paper.js");
  await paper.default();
  paper.open(lines, texts);
};
