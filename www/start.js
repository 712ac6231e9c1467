import init, { start } from "./halfbar_wasm.js";

init().then(start).catch(showFailure);
