/** What each system of an example shows. */
export type View = "both" | "staff" | "tab" | "rhythm";
/** How a figure is written. */
export type Spelling = "bracket" | "tied" | "plain" | "grouped";

/** In whose words lengths of notes are named: quarter notes and eighths, or crotchets and quavers. */
export type Words = "us" | "uk";

/** A window that is recast; bar and beat are counted from 1, and beat 2.5 lies half way between 2 and 3. */
export interface Recast {
  bar: number;
  beat: number;
  figure: string;
  spelling: Spelling;
}

export interface Casting {
  /** The line's text, with its casting as it is now. */
  text: string;
  windows: Recast[];
}

export interface Sounded {
  /** The note's id: `data-note` in the SVG. */
  note: number;
  /** When, in milliseconds of `performance.now()`. */
  when: number;
}

export interface Mistake {
  /** What is wrong, in one word: a code of the text format, `view`, `figure`, `spelling`, `width`, `words`, `load` or `sound`. */
  code: string;
  /** Where in the text, counted from 1; 0 for what is not in the text. */
  line: number;
  column: number;
  length: number;
  message: string;
}

export interface SvgOptions {
  /** How wide a system is, in staff spaces. */
  width?: number;
  /** Whether title and tempo are drawn. */
  head?: boolean;
  fingers?: boolean;
  view?: View;
  words?: Words;
}

export interface HalfBarEventMap extends HTMLElementEventMap {
  "halfbar-casting": CustomEvent<Casting>;
  "halfbar-note": CustomEvent<Sounded>;
  "halfbar-error": CustomEvent<Mistake>;
}

/** A line of music that readers recast, and hear. */
export class HalfBar extends HTMLElement {
  /** The line; it has its casting as it is now. */
  text: string;
  view: View | null;
  /** The figure that a tap gives, by name. */
  figure: string | null;
  spelling: Spelling | null;
  /** Any of `pads`, `shelf` and `play`, or `none`. */
  controls: string | null;
  /** How wide a system is, in staff spaces; `null` is as wide as there is room for. */
  width: number | null;
  fingers: boolean;
  words: Words | null;
  /** The tempo that is played, in quarter notes a minute; `null` is the line's own. */
  tempo: number | null;
  /** Whether the line is played again and again. */
  loop: boolean;
  readonly drawn: boolean;
  readonly playing: boolean;

  /** Draws the example, wherever on the page it is. */
  ready(): Promise<void>;
  windows(): Promise<Recast[]>;
  /** Without a figure, the chosen one. Rejects with an `Error` that has a `code`. */
  recast(bar: number, beat: number, figure?: string, spelling?: Spelling): Promise<void>;
  /** Says whether anything stood there. */
  restore(bar: number, beat: number): Promise<boolean>;
  /** The music as an SVG document that stands alone. */
  svg(options?: SvgOptions): Promise<string>;
  /** Plays; whatever else sounds on the page stops. */
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
