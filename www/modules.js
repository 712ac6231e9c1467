// Loads the page's WebAssembly module. The single-file page has it inside instead.
import init, { start } from "./halfbar_wasm.js";

export const page = () => init().then(() => start(new URL("hear.js", import.meta.url).href));
