// What the package's types allow, and what they don't. This is checked, never run.
import { HalfBar, type HalfBarAttributes, type Progress } from "half-bar/jsx";
import initFiles, { open } from "half-bar/halfbar_exchange.js";
import init, { Piece } from "half-bar/halfbar_piece.js";
import "half-bar/half-bar.css";

export const made: HalfBar = document.createElement("half-bar");
made.tools = "pads play";
// @ts-expect-error: there is no such tool
made.tools = "pads pause";
// @ts-expect-error: there is no such property
made.notes = "C4 D E F";
// @ts-expect-error: a script can't say that it plays
made.playing = true;
made.tempo = null;
made.reset();
export const done: boolean = made.checkValidity() && made.form !== null;

// Events bubble, so whatever can listen knows them.
made.addEventListener("halfbar-note", ({ detail }) => detail.when.toFixed());
document.addEventListener("halfbar-casting", ({ detail }) => detail.windows.length);
addEventListener("halfbar-task", ({ detail }: CustomEvent<Progress>) => detail.done);
// @ts-expect-error: a remark has no windows
document.body.addEventListener("halfbar-remark", ({ detail }) => detail.windows);

HalfBar.wasm = new URL("modules/", document.baseURI);
HalfBar.wasm = { widget: "widget.wasm", sound: "sound.wasm", piece: "piece.wasm", exchange: "exchange.wasm" };
// @ts-expect-error: all four or a folder
HalfBar.wasm = { widget: "widget.wasm" };
HalfBar.phrases = { Play: "Écouter", "Bar {} beat {}": "Mesure {}, temps {}" };
HalfBar.language = "fr";
export const observed: string[] = HalfBar.observedAttributes;

export const svg = async (text: string): Promise<string> => {
  await init();
  return new Piece(text).svg({ width: 60 });
};

export const line = async (file: Uint8Array): Promise<string> => {
  await initFiles();
  return open(file).take(0, { octaves: 1 }).text;
};
export const files = async (): Promise<[string, Uint8Array]> => [await made.musicxml({ view: "staff" }), await made.midi({ click: "2+4" })];
// @ts-expect-error: there is no such view in a file
export const tab = made.musicxml({ view: "tab" });

const attributes: HalfBarAttributes = { width: "60", tempo: 96 };
export const written = <half-bar {...attributes} text="C4 D E F  G F E D |" onhalfbar-casting={({ detail }) => detail.text} />;
// @ts-expect-error: there is no such view
export const view = <half-bar view="sideways" />;
// @ts-expect-error: there is no such attribute
export const notes = <half-bar notes="C4 D E F" />;
// @ts-expect-error: a width is a number
export const width = <half-bar width="wide" />;
