/** What each system of an example shows. */
export type View = "both" | "staff" | "tab" | "rhythm";
/** How a figure is written. */
export type Spelling = "bracket" | "tied" | "plain" | "grouped";

/** Names of note values: American (quarter note, eighth note) or British (crotchet, quaver). */
export type Words = "us" | "uk";

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
  /** What is wrong, in one word: a code of the text format, `view`, `figure`, `spelling`, `width`, `words`, `load` or `sound`. */
  code: string;
  /** Where in the text, counted from 1; 0 for a problem outside the text. */
  line: number;
  column: number;
  length: number;
  message: string;
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

export interface HalfBarEventMap extends HTMLElementEventMap {
  "halfbar-casting": CustomEvent<Casting>;
  "halfbar-note": CustomEvent<Sounded>;
  "halfbar-error": CustomEvent<Mistake>;
  "halfbar-remark": CustomEvent<Mistake>;
}

/** A line of music that readers can recast and play. */
export class HalfBar extends HTMLElement {
  /** The line's text, including its figures as they are now. */
  text: string;
  view: View | null;
  /** The name of the figure that a tap applies. */
  figure: string | null;
  spelling: Spelling | null;
  /** Any of `pads`, `shelf` and `play`, or `none`. */
  controls: string | null;
  /** The width of a system, in staff spaces; `null` uses all the room there is. */
  width: number | null;
  fingers: boolean;
  words: Words | null;
  /** The playback tempo, in quarter notes per minute; `null` is the line's own. */
  tempo: number | null;
  /** Whether playback repeats until stopped. */
  loop: boolean;
  readonly drawn: boolean;
  readonly playing: boolean;

  /** Draws the example, wherever it is on the page. */
  ready(): Promise<void>;
  windows(): Promise<Recast[]>;
  /** Applies a figure, or the chosen one if none is given. Rejects with an `Error` that has a `code`. */
  recast(bar: number, beat: number, figure?: string, spelling?: Spelling): Promise<void>;
  /** Removes a figure; resolves to whether there was one. */
  restore(bar: number, beat: number): Promise<boolean>;
  /** The music as a self-contained SVG document. */
  svg(options?: SvgOptions): Promise<string>;
  /** Plays the line. Any other example that is playing stops. */
  play(): Promise<void>;
  stop(): void;

  addEventListener<K extends keyof HalfBarEventMap>(
    type: K,
    listener: (this: HalfBar, event: HalfBarEventMap[K]) => unknown,
    options?: boolean | AddEventListenerOptions,
  ): void;
  addEventListener(
    type: string,
    listener: EventListenerOrEventListenerObject,
    options?: boolean | AddEventListenerOptions,
  ): void;
  removeEventListener<K extends keyof HalfBarEventMap>(
    type: K,
    listener: (this: HalfBar, event: HalfBarEventMap[K]) => unknown,
    options?: boolean | EventListenerOptions,
  ): void;
  removeEventListener(
    type: string,
    listener: EventListenerOrEventListenerObject,
    options?: boolean | EventListenerOptions,
  ): void;
}

declare global {
  interface HTMLElementTagNameMap {
    "half-bar": HalfBar;
  }
}
