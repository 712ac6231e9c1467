/** What each system of an example shows. */
export type View = "both" | "staff" | "tab" | "rhythm";

/** How a figure is written. */
export type Spelling = "bracket" | "tied" | "plain" | "grouped";

/** Names of note values: American (quarter note, eighth note) or British (crotchet, quaver). */
export type Words = "us" | "uk";

/** What a reader gets: half-bars to tap (`pads`), those and the figures to choose from (`figures`), a button to `play`. */
export type Tool = "pads" | "figures" | "play";
export type Tools = Tool | `${Tool} ${Tool}` | `${Tool} ${Tool} ${Tool}` | "none";

/** A recast half-bar, or another recast passage. Bar and beat are counted from 1; beat 2.5 is halfway between 2 and 3. */
export interface Recast {
  bar: number;
  beat: number;
  figure: string;
  spelling: Spelling;
}

export interface Casting {
  /** The line's text, including its figures as they are now. */
  text: string;
  windows: Recast[];
}

export interface Sounded {
  /** The note's id: `data-note` in the SVG. */
  note: number;
  /** When, in milliseconds on the clock of `performance.now()`. */
  when: number;
}

export interface Mistake {
  /**
   * What is wrong, in one word: a code of the text format, or, if `line` is 0, the attribute (`view`, `figure`, `spelling`, `tools`, `width`,
   * `words`), `empty`, `load` or `sound`.
   */
  code: string;
  /** Where in the text, counted from 1; 0 for a problem outside the text. */
  line: number;
  column: number;
  length: number;
  message: string;
}

export interface Progress {
  /** Whether everything is as in the answer. */
  done: boolean;
  /** How many of the answer's figures are in place. */
  right: number;
  /** How many figures the answer has. */
  of: number;
}

export interface SvgOptions {
  /** The width of a system, in staff spaces. */
  width?: number;
  /** Whether to draw title and tempo. */
  head?: boolean;
  fingers?: boolean;
  view?: View;
  words?: Words;
}

export interface MusicXmlOptions {
  /** `both`, notation and tab, or `staff`, notation with strings and frets at its notes. */
  view?: "both" | "staff";
}

export interface MidiOptions {
  /** Whether notes have their written times instead of the played ones. */
  straight?: boolean;
  /** The beats with a click. */
  click?: "every" | "2+4" | "1";
  /** The number of bars that are counted in. */
  countIn?: number;
  /** Whether chords are played. */
  comp?: boolean;
}

/** Where the package's four modules are. */
export interface Modules {
  widget: string | URL;
  sound: string | URL;
  piece: string | URL;
  exchange: string | URL;
}

export interface HalfBarEventMap {
  "halfbar-casting": CustomEvent<Casting>;
  "halfbar-note": CustomEvent<Sounded>;
  "halfbar-error": CustomEvent<Mistake>;
  "halfbar-remark": CustomEvent<Mistake>;
  "halfbar-task": CustomEvent<Progress>;
}

/** The attributes as markup has them, where a number may be a string. */
export interface HalfBarAttributes {
  text?: string | null;
  src?: string | null;
  view?: View | null;
  figure?: string | null;
  spelling?: Spelling | null;
  tools?: Tools | null;
  /** @deprecated Use `tools`. */
  controls?: string | null;
  width?: number | `${number}` | null;
  fingers?: boolean;
  words?: Words | null;
  tempo?: number | `${number}` | null;
  loop?: boolean;
  task?: boolean;
  name?: string | null;
}

/** A line of music that readers can recast and play. */
export class HalfBar extends HTMLElement {
  static readonly formAssociated: true;
  static readonly observedAttributes: string[];
  /**
   * Where the package's `.wasm` files are, if not beside its scripts: their folder, or each of the four. Set it before the first example is
   * drawn.
   */
  static wasm: string | URL | Modules | undefined;
  /** Words to show instead of the English ones, by these. `{}` stands for what is filled in. */
  static phrases: Record<string, string>;
  /** The language of the phrases, as in `lang`. */
  static language: string | undefined;

  /** The line's text, including its figures as they are now. */
  text: string;
  /** The address of a file with the text. */
  src: string | null;
  view: View | null;
  /** The name of the figure that a tap applies. */
  figure: string | null;
  spelling: Spelling | null;
  tools: Tools | null;
  /** @deprecated Use `tools`. */
  controls: string | null;
  /** The width of a system, in staff spaces; `null` uses all the room there is. */
  width: number | null;
  fingers: boolean;
  words: Words | null;
  /** The playback tempo, in quarter notes per minute; `null` is the line's own. */
  tempo: number | null;
  /** Whether playback repeats until stopped. */
  loop: boolean;
  /** Whether the text's figures are the answer, which the reader has to find. */
  task: boolean;
  /** The name under which a form submits the text. */
  name: string | null;
  readonly drawn: boolean;
  readonly playing: boolean;

  readonly form: HTMLFormElement | null;
  readonly type: string;
  /** What a form submits: the text. */
  readonly value: string;
  readonly validity: ValidityState;
  readonly validationMessage: string;
  readonly willValidate: boolean;
  checkValidity(): boolean;
  reportValidity(): boolean;

  /** Draws the example, wherever it is on the page. */
  ready(): Promise<void>;
  windows(): Promise<Recast[]>;
  /** Applies a figure, or the chosen one if none is given. Rejects with an `Error` that has a `code`. */
  recast(bar: number, beat: number, figure?: string, spelling?: Spelling): Promise<void>;
  /** Removes a figure; resolves to whether there was one. */
  restore(bar: number, beat: number): Promise<boolean>;
  /** Goes back to the text as given. */
  reset(): void;
  /** The music as a self-contained SVG document. */
  svg(options?: SvgOptions): Promise<string>;
  /** The line as a MusicXML file. Its text travels in it. Rejects with an `Error` that has a `code`. */
  musicxml(options?: MusicXmlOptions): Promise<string>;
  /** The line as a MIDI file. Its text travels in it. Rejects with an `Error` that has a `code`. */
  midi(options?: MidiOptions): Promise<Uint8Array>;
  /** Plays the line. Any other example that is playing stops. */
  play(): Promise<void>;
  stop(): void;
}

declare global {
  interface HTMLElementTagNameMap {
    "half-bar": HalfBar;
  }
  // The events bubble, so a listener may be on any element, the document or the window.
  interface GlobalEventHandlersEventMap extends HalfBarEventMap {}
}
