// The <half-bar> element: a line of music in any page, which readers can recast and play. The WebAssembly module decides what is drawn and what
// a tap does; this file has what only a JavaScript class can do: attributes, properties, events and the element's life cycle.
import { styles } from "./half-bar-style.js";

// A module for all elements of a page, fetched for the first one that needs it.
const shared = (fetch) => {
  let loading;
  const load = async () => {
    const module = await fetch();
    await module.default();
    return module;
  };
  return () => (loading ??= load().catch((error) => ((loading = undefined), Promise.reject(error))));
};
const widgets = shared(() => import("./halfbar_widget.js"));
const sounds = shared(() => import("./halfbar_sound.js"));
// What few readers need: the words for a mistake in a text, and pictures as files.
const pieces = shared(() => import("./halfbar_piece.js"));

// How far outside the viewport an example is drawn ahead of time.
const NEAR = "600px 0px";
// How often the player checks whether to schedule more notes, in milliseconds.
const OFTEN = 50;

// The sentences of this file; all others come from the module.
const SAYS = {
  open: "Try it",
  play: "Play",
  stop: "Stop",
  lost: (message) => `Sorry, the music could not be loaded (${message}).`,
  silent: (message) => `Could not play: ${message}.`,
  noControl: (name) => `there is no control \`${name}\`: use any of ${CONTROLS.join(", ")}, or none`,
  unexplained: "there is a mistake here, but its explanation could not be loaded",
  held: "the browser is holding the sound back. Tap anywhere on the page to continue.",
};

// Attributes and the properties that reflect them.
const ATTRIBUTES = {
  view: String,
  figure: String,
  spelling: String,
  controls: String,
  width: Number,
  fingers: Boolean,
  words: String,
  tempo: Number,
  loop: Boolean,
};

// What `controls` can contain.
const CONTROLS = ["pads", "shelf", "play"];

// The file can be imported where there is no document, for instance when a site is generated.
const Base = globalThis.HTMLElement ?? class {};

export class HalfBar extends Base {
  static observedAttributes = Object.keys(ATTRIBUTES);

  // The element that is playing or about to: only one per page.
  static #player;
  // The audio clock of all examples of a page: browsers allow few.
  static #audio;
  // The styles, per document: a style sheet only works in the one it was made in.
  static #sheets = new WeakMap();
  static #near;
  static #resized;

  #slot;
  #root;
  #open;
  #play;
  #failure;
  #widget;
  // The text after a script or a reader has changed it; until then it is what is inside the tag.
  #text;
  #inside = "";
  #changes;
  #leaving;
  #drawing;
  #sound;

  constructor() {
    super();
    const shadow = this.attachShadow({ mode: "open" });
    this.#dress();
    this.#slot = document.createElement("slot");
    this.#root = document.createElement("div");
    this.#root.className = "example";
    this.#open = this.#button("open", SAYS.open, () => this.#start(true));
    this.#play = this.#button("play", SAYS.play, () => (this.#sound ? this.stop() : this.play().catch(() => {})));
    this.#failure = document.createElement("p");
    Object.assign(this.#failure, { className: "failure", role: "alert", hidden: true });
    this.#failure.setAttribute("part", "failure");
    shadow.append(this.#slot, this.#root, this.#failure, this.#open, this.#play);
    // A reader who comes to a picture that came with the page is likely to tap it, so fetch the module already; nothing changes on the page yet.
    const fetch = () => this.#invites && widgets().catch(() => {});
    for (const event of ["focusin", "pointerdown"]) this.addEventListener(event, fetch);
    // The same for sound.
    for (const event of ["focus", "pointerenter"]) this.#play.addEventListener(event, () => sounds().catch(() => {}));
    this.addEventListener("click", ({ target }) => {
      if (target !== this && this.#invites && !target.closest("a")) this.#start(false);
    });
  }

  connectedCallback() {
    clearTimeout(this.#leaving);
    // Properties that a script set before this class was defined.
    for (const name of [...Object.keys(ATTRIBUTES), "text"]) {
      if (!Object.hasOwn(this, name)) continue;
      const value = this[name];
      delete this[name];
      this[name] = value;
    }
    this.#inside = this.#read();
    // Parsers and scripts may add the content later.
    this.#changes ??= new MutationObserver(() => this.#changed());
    this.#changes.observe(this, { childList: true, characterData: true, subtree: true });
    if (this.#widget) this.#watch();
    else this.#await();
    this.#refresh();
  }

  disconnectedCallback() {
    this.#changes.disconnect();
    HalfBar.#near?.unobserve(this);
    HalfBar.#resized?.unobserve(this.#root);
    this.#leave();
  }

  // Moved into another document, such as an iframe's: the styles have to be made again there.
  adoptedCallback() {
    this.#dress();
  }

  attributeChangedCallback(name, before, after) {
    if (before === after) return;
    const unknown = name === "controls" && [...this.#wanted].find((control) => !CONTROLS.includes(control));
    if (unknown) this.#tell("error", { code: name, line: 0, column: 0, length: 0, message: SAYS.noControl(unknown) });
    this.#refresh();
  }

  // The line, including its figures as they are now.
  get text() {
    return this.#widget ? this.#widget.text() : (this.#text ?? this.#read());
  }
  set text(text) {
    this.#text = String(text);
    this.stop();
    this.#refresh(this.#text);
    if (this.isConnected && !this.#widget) this.#await();
  }

  // Whether there is a drawing that reacts to taps.
  get drawn() {
    return this.#widget?.drawn() ?? false;
  }
  get playing() {
    return this.#sound?.sounding !== undefined;
  }

  // Draws the example, wherever it is on the page, and resolves when that is done.
  async ready() {
    await this.#draw();
  }
  // What is recast: {bar, beat, figure, spelling} for each window.
  async windows() {
    return (await this.#draw()).windows();
  }
  async recast(bar, beat, figure, spelling) {
    (await this.#draw()).recast(bar, beat, figure, spelling);
  }
  async restore(bar, beat) {
    return (await this.#draw()).restore(bar, beat);
  }
  async svg(options) {
    const { Piece } = await pieces();
    const piece = new Piece(this.text);
    try {
      return piece.svg({ words: this.words ?? undefined, ...options });
    } finally {
      piece.free();
    }
  }

  // Plays the line once, or repeatedly with `loop`. Any other example that is playing stops.
  async play() {
    HalfBar.#player?.stop();
    const sound = {};
    [this.#sound, HalfBar.#player] = [sound, this];
    this.#play.textContent = SAYS.stop;
    try {
      // The clock comes first: browsers only let it start during a tap, which has ended when the modules are there.
      const [audio, { Sounding }] = await Promise.all([HalfBar.#clock(), sounds(), this.#draw()]);
      // The example may have been stopped or removed by now.
      if (this.#sound !== sound) return;
      sound.sounding = new Sounding(audio, this.text);
      sound.sounding.play(this.tempo ?? undefined, this.loop);
      sound.timer = setInterval(() => this.#goOn(), OFTEN);
      this.#failure.hidden = true;
      this.#widget.say("");
      this.#follow(sound);
    } catch (error) {
      if (this.#sound === sound) this.stop();
      // A drawing that failed has said so.
      if (this.#widget) this.#fail(error, "sound");
      throw error;
    }
  }
  stop() {
    if (!this.#sound) return;
    const { sounding, timer } = this.#sound;
    this.#sound = undefined;
    if (HalfBar.#player === this) HalfBar.#player = undefined;
    clearInterval(timer);
    sounding?.free();
    this.#widget?.light();
    this.#play.textContent = SAYS.play;
  }

  static #clock() {
    HalfBar.#audio ??= new AudioContext();
    // A browser that refuses says so by the clock's state.
    HalfBar.#audio.resume().catch(() => {});
    return HalfBar.#audio;
  }
  // Gives the clock back to the browser, unless another example plays.
  static #hush() {
    if (HalfBar.#player) return;
    HalfBar.#audio?.close();
    HalfBar.#audio = undefined;
    sounds().then(({ Sounding }) => HalfBar.#player || Sounding.forget(), () => {});
  }

  #dress() {
    const view = this.ownerDocument.defaultView;
    // A document without a window needs no styles.
    if (!view) return;
    const sheets = HalfBar.#sheets;
    if (!sheets.has(view.document)) {
      const sheet = new view.CSSStyleSheet();
      sheet.replaceSync(styles);
      sheets.set(view.document, sheet);
    }
    this.shadowRoot.adoptedStyleSheets = [sheets.get(view.document)];
  }

  #button(name, label, pressed) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: name, textContent: label, hidden: true });
    button.setAttribute("part", name);
    button.addEventListener("click", pressed);
    return button;
  }

  // The controls that the reader gets.
  get #wanted() {
    return new Set((this.controls ?? "pads").split(/\s+/).filter((name) => name && name !== "none"));
  }

  // Whether a picture came with the page, so that nothing is drawn until a reader or a script asks.
  get #waits() {
    return !this.#widget && this.#text === undefined && this.querySelector("svg") !== null;
  }

  // Whether to show the button that makes the half-bars tappable.
  get #invites() {
    const wanted = this.#wanted;
    return this.#waits && (wanted.has("pads") || wanted.has("shelf"));
  }

  // The text inside the tag: the content of its `pre`, or everything that is not a picture.
  #read() {
    const inside = this.querySelector("pre");
    if (inside) return inside.textContent;
    return [...this.childNodes]
      .filter((node) => !["figure", "svg"].includes(node.localName))
      .map((node) => node.textContent)
      .join("");
  }

  // The content was changed, so that is the line now.
  #changed() {
    const inside = this.#read();
    if (inside === this.#inside) return;
    this.#inside = inside;
    this.#text = undefined;
    this.#refresh(inside);
    if (!this.#widget) this.#await();
    this.#show();
  }

  // Draws when a reader scrolls near, or touches the picture that came with the page.
  #await() {
    if (this.#waits) return;
    HalfBar.#near ??= new IntersectionObserver(
      (entries) => {
        for (const { target } of entries.filter((entry) => entry.isIntersecting)) {
          HalfBar.#near.unobserve(target);
          if (!target.#waits) target.#draw().catch(() => {});
        }
      },
      { rootMargin: NEAR },
    );
    if (this.text.trim() !== "") HalfBar.#near.observe(this);
  }

  // A reader asked to tap half-bars.
  async #start(focus) {
    const widget = await this.#draw().catch(() => {});
    if (focus) widget?.focus();
  }

  // The drawing; makes it if there is none.
  #draw() {
    if (this.#widget) return Promise.resolve(this.#widget);
    return (this.#drawing ??= this.#make().finally(() => (this.#drawing = undefined)));
  }
  async #make() {
    let module;
    try {
      module = await widgets();
    } catch (error) {
      this.#fail(error, "load");
      throw error;
    }
    this.#failure.hidden = true;
    this.#widget = new module.Widget(this.#root, (name, detail) => this.#tell(name, detail));
    // The available width is measured where the picture was.
    this.#root.hidden = false;
    this.#refresh(this.#text ?? this.#read());
    this.#show();
    if (this.isConnected) this.#watch();
    else this.#leave();
    return this.#widget;
  }

  // Draws again when the available width changes.
  #watch() {
    HalfBar.#resized ??= new ResizeObserver((entries) => {
      for (const { target } of entries) target.getRootNode().host?.#resize();
    });
    HalfBar.#resized.observe(this.#root);
  }
  #resize() {
    this.#widget?.resize();
    this.#show();
  }

  #refresh(text) {
    if (this.#widget) {
      const wanted = this.#wanted;
      const { view, figure, spelling, width, fingers, words } = this;
      const [pads, shelf] = [wanted.has("pads") || wanted.has("shelf"), wanted.has("shelf")];
      this.#widget.show(text, { view, figure, spelling, width, fingers, words, pads, shelf });
    }
    this.#show();
  }

  // Shows the drawing, or else what is inside the tag.
  #show() {
    const [drawn, wanted] = [this.drawn, this.#wanted];
    this.#slot.hidden = drawn;
    this.#root.hidden = this.#widget === undefined;
    this.#slot.classList.toggle("waits", this.#waits);
    this.#open.hidden = !this.#invites;
    this.#play.hidden = !wanted.has("play");
  }

  // Removed from the document. An element that is only being moved is back before the next task.
  #leave() {
    clearTimeout(this.#leaving);
    this.#leaving = setTimeout(() => this.isConnected || this.#end());
  }
  #end() {
    if (this.#sound) {
      this.stop();
      HalfBar.#hush();
    }
    if (!this.#widget) return;
    this.#text = this.text;
    this.#widget.free();
    this.#widget = undefined;
    this.#root.replaceChildren();
    this.#show();
  }

  // Puts a mistake or a remark into words before it is told. The widget only knows where it is.
  async #explain(name, detail) {
    const [widget, text] = [this.#widget, this.text];
    const is = ({ line, column, code }) => line === detail.line && column === detail.column && code === detail.code;
    const found = await pieces().then(({ check, remarks }) => check(text).find(is) ?? remarks(text).find(is), () => {});
    // The text may have been changed by now.
    if (this.#widget !== widget || this.text !== text) return;
    if (name === "error" || found) this.#tell(name, { ...detail, message: found?.message ?? SAYS.unexplained });
  }
  #tell(name, detail) {
    if ((name === "error" || name === "remark") && detail.message === undefined) return this.#explain(name, detail);
    if (name === "error" && detail.line > 0) this.#widget.explain(detail.line, detail.column, detail.message);
    if (name === "casting") {
      this.#text = detail.text;
      // A tap takes effect the next time that half-bar comes around.
      this.#sound?.sounding?.change(detail.text);
    }
    // The page's author may not listen for events.
    if (name === "error" && detail.line === 0) console.warn("<half-bar>", detail.message);
    this.dispatchEvent(new CustomEvent(`halfbar-${name}`, { detail, bubbles: true, composed: true }));
  }
  #fail(error, code) {
    const message = error?.message ?? String(error);
    this.#failure.textContent = code === "load" ? SAYS.lost(message) : SAYS.silent(message);
    this.#failure.hidden = false;
    this.#tell("error", { code, line: 0, column: 0, length: 0, message });
  }

  // Schedules more of the line; stops at its end.
  #goOn() {
    const { sounding } = this.#sound;
    // The frame it was in is gone.
    if (!this.ownerDocument.defaultView) return this.stop();
    if (sounding.is_held()) return this.#widget.say(SAYS.held);
    if (!sounding.go_on()) return this.stop();
    this.#light();
  }
  #follow(sound) {
    if (this.#sound !== sound) return;
    this.#light();
    requestAnimationFrame(() => this.#follow(sound));
  }
  #light() {
    const note = this.#sound.sounding.note();
    if (note === this.#sound.note) return;
    this.#sound.note = note;
    this.#widget?.light(note);
    if (note !== undefined) this.#tell("note", { note, when: performance.now() });
  }
}

for (const [name, kind] of Object.entries(ATTRIBUTES)) {
  Object.defineProperty(HalfBar.prototype, name, {
    configurable: true,
    enumerable: true,
    get() {
      if (kind === Boolean) return this.hasAttribute(name);
      const value = this.getAttribute(name);
      return value === null || kind === String ? value : Number(value);
    },
    set(value) {
      if (kind === Boolean) this.toggleAttribute(name, Boolean(value));
      else if (value === null || value === undefined) this.removeAttribute(name);
      else this.setAttribute(name, String(value));
    },
  });
}

if (globalThis.customElements && !customElements.get("half-bar")) customElements.define("half-bar", HalfBar);
