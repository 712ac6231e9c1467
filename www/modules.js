// Where the two WebAssembly modules come from. The one-file page has them inside instead.
import init, { Piece, start } from "./halfbar_wasm.js";

export { Piece };
export const page = () => init().then(start);
export const desk = (draw) => import("./halfbar_desk.js").then((module) => module.default().then(() => module.open(draw)));
