// The WebAssembly modules of the <half-bar> element, each fetched once for all examples of a page, when the first one needs it.

// Where the modules are: by name, or the folder that they are all in. `undefined`: next to this file.
let where;
export const modulesAt = () => where;
export const setModulesAt = (url) => (where = url);

// Bundlers look for exactly these expressions, and copy the files.
const NEARBY = {
  widget: () => new URL("./halfbar_widget_bg.wasm", import.meta.url),
  sound: () => new URL("./halfbar_sound_bg.wasm", import.meta.url),
  piece: () => new URL("./halfbar_piece_bg.wasm", import.meta.url),
  exchange: () => new URL("./halfbar_exchange_bg.wasm", import.meta.url),
};

const SAYS = {
  nowhere: "set HalfBar.wasm to the URL of the folder with the package's .wasm files: this bundle doesn't know where they are",
  missing: (url, status) => `${url}: status ${status}`,
  page: (url) =>
    `${url} is a web page, not the module: put the package's .wasm files there, or set HalfBar.wasm to the URL of their folder`,
};

function address(name) {
  if (where === undefined) {
    try {
      return NEARBY[name]();
    } catch {
      throw new Error(SAYS.nowhere);
    }
  }
  if (typeof where === "object" && !(where instanceof URL)) return new URL(where[name], document.baseURI);
  const folder = new URL(where, document.baseURI);
  if (!folder.pathname.endsWith("/")) folder.pathname += "/";
  return new URL(`halfbar_${name}_bg.wasm`, folder);
}

// The module's bytes, or the response with them if the host says what they are. Many hosts answer with their front page for what isn't there.
async function bytes(name) {
  const url = address(name);
  const response = await fetch(url);
  if (!response.ok) throw new Error(SAYS.missing(url, response.status));
  if (response.headers.get("content-type")?.startsWith("application/wasm")) return response;
  const content = await response.arrayBuffer();
  if (new Uint8Array(content)[0] === "<".charCodeAt(0)) throw new Error(SAYS.page(url));
  return content;
}

// Fetches a module for the first example that needs it; later ones get the same. After a failure, the next one tries again.
function shared(name, script) {
  let loading;
  const load = async () => {
    const [module, content] = await Promise.all([script(), bytes(name)]);
    await module.default({ module_or_path: content });
    get.ready = module;
    return module;
  };
  const get = () => (loading ??= load().catch((error) => ((loading = undefined), Promise.reject(error))));
  return get;
}

// What draws an example. `ready` is the module once it is there.
export const widgets = shared("widget", () => import("./halfbar_widget.js"));
export const sounds = shared("sound", () => import("./halfbar_sound.js"));
// What few readers need: the words for a mistake in a text, and pictures as files.
export const pieces = shared("piece", () => import("./halfbar_piece.js"));
// MusicXML and MIDI files.
export const exchanges = shared("exchange", () => import("./halfbar_exchange.js"));
