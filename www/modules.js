// Where the two WebAssembly modules come from. The one-file page has them inside instead.
import init, { Piece, start } from "./halfbar_wasm.js";

export { Piece };
export const page = () => init().then(start);
export const desk = async (draw) => {
  const desk = await import("./halfbar_desk.js");
  await desk.default();
  desk.open(draw, new URL("hear.js", import.meta.url).href);
};
