// Loads the page's WebAssembly module. The single-file page has it inside instead.
import init, { start } from "./halfbar_wasm.js";

// The module for files of other programs, when it is first needed. After a failure, the next time tries again.
let loading;
const load = async () => {
  const module = await import("./halfbar_exchange.js");
  await module.default();
  return module;
};
const fail = () => {
  loading = undefined;
  throw new Error("the part of this page that reads and writes such files could not be fetched. Try again when you are online");
};
const files = async (name, ...rest) => (await (loading ??= load().catch(fail)))[name](...rest);

export const page = () => init().then(() => start(new URL("hear.js", import.meta.url).href, files));
