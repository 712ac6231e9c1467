// The <half-bar> element: a line of music in any page, which readers can recast and play. The WebAssembly module decides what is drawn and what
// a tap does; this file has what only a JavaScript class can do: attributes, properties, events and the element's life cycle.
import { exchanges, modulesAt, pieces, setModulesAt, sounds, widgets } from "./half-bar-modules.js";
import { styles } from "./half-bar-style.js";

// How far outside the viewport an example is drawn ahead of time.
const NEAR = "600px 0px";
// How often the player checks whether to schedule more notes, in milliseconds.
const OFTEN = 50;
// How long an example may stay empty before its page's author is told: scripts may fill it later.
const SOON = 1000;

// The sentences of this file; all others come from the modules.
const SAYS = {
  open: "Try it",
  play: "Play",
  stop: "Stop",
  lost: (message) => `Sorry, the music could not be loaded (${message}).`,
  silent: (message) => `Could not play: ${message}.`,
  missing: (url, status) => `${url}: status ${status}`,
  page: (url) => `${url} is a web page, not a text`,
  noTool: (name) => `there is no tool \`${name}\`: use any of ${TOOLS.join(", ")}, or none`,
  empty:
    "this example is empty. If its text is below it on the page, a Markdown tool has closed the tag at a blank line: put the tags inside a " +
    "<div> at the start of a line, without blank lines, as in the README's part on Markdown",
  twice: "this script was loaded twice; the page uses the first copy of the element",
  unexplained: "there is a mistake here, but its explanation could not be loaded",
  held: "the browser is holding the sound back. Tap anywhere on the page to continue.",
  noTempo: "the tempo must be a number of quarter notes per minute",
  todo: (right, of) => `${right} of ${of} ${of === 1 ? "half-bar" : "half-bars"} right so far.`,
  tooMany: "Put the other half-bars back: more are recast than the task asks for.",
};

// Attributes and the properties that reflect them. `text` and `src` are attributes too, but what they give is the property `text`.
const ATTRIBUTES = {
  view: String,
  figure: String,
  spelling: String,
  tools: String,
  controls: String, // the former name of `tools`: minifiers take it for a boolean attribute
  width: Number,
  fingers: Boolean,
  words: String,
  tempo: Number,
  loop: Boolean,
  task: Boolean,
  src: String,
  name: String,
};

// What `tools` can contain, and the former name of one of them.
const TOOLS = ["pads", "figures", "play"];
const ALIASES = { shelf: "figures" };

// The file can be imported where there is no document, for instance when a site is generated.
const Base = globalThis.HTMLElement ?? class {};

class Example extends Base {
  static observedAttributes = [...Object.keys(ATTRIBUTES), "text"];
  static formAssociated = true;

  // The examples in documents.
  static #all = new Set();
  // The element that is playing or about to: only one per page.
  static #player;
  // The audio clock of all examples of a page: browsers allow few.
  static #audio;
  // The styles, per document: a style sheet only works in the one it was made in.
  static #sheets = new WeakMap();
  static #near;
  static #resized;
  static #phrases = {};
  // What puts a root into the language of the phrases, and what a sentence is in it.
  static #translation;
  static #language;

  #internals;
  #slot;
  #caption;
  #root;
  #open;
  #play;
  #failure;
  #widget;
  // The text that a script has set, and what was fetched from `src`: `null` if that failed, for this reason.
  #set;
  #fetched;
  #fetching;
  #lost;
  // The text as a reader has recast it, while nothing shows it.
  #text;
  #inside = "";
  #changes;
  #leaving;
  #warning;
  #drawing;
  #sound;
  // The last time that names were asked for.
  #asked;
  // Whether the text has a mistake.
  #wrong = false;
  // Where the half-bar starts that was tapped last.
  #chosen;
  #takeBack;

  // Where the modules are: the URL of the folder that they are in, or `{widget, sound, piece, exchange}`. Only for bundlers that don't copy them.
  static get wasm() {
    return modulesAt();
  }
  static set wasm(url) {
    setModulesAt(url);
  }

  // What it says in another language: an object of phrases, in English and in that language.
  static get phrases() {
    return Example.#phrases;
  }
  static set phrases(phrases) {
    Example.#phrases = phrases ?? {};
    const set = (translation) => {
      // There may be others by now.
      if (Example.#phrases !== (phrases ?? Example.#phrases)) return;
      Example.#translation = translation;
      for (const one of Example.#all) one.#translate();
    };
    if (Object.keys(Example.#phrases).length === 0) set(undefined);
    else import("./half-bar-phrases.js").then(({ translation }) => set(translation(phrases)), (error) => console.warn("<half-bar>", error));
  }
  // That language, as in `lang`.
  static get language() {
    return Example.#language;
  }
  static set language(language) {
    Example.#language = language;
    for (const one of Example.#all) one.#translate();
  }

  constructor() {
    super();
    this.#internals = this.attachInternals();
    // What the page has inside is shown where this says so: its own styles can't show a picture and its text together.
    const shadow = this.attachShadow({ mode: "open", slotAssignment: "manual" });
    this.#dress();
    this.#slot = document.createElement("slot");
    this.#caption = document.createElement("slot");
    this.#caption.name = "caption";
    this.#root = document.createElement("div");
    this.#root.className = "example";
    this.#open = this.#button("open", SAYS.open, () => this.#start(true));
    this.#play = this.#button("play", SAYS.play, () => (this.#sound ? this.stop() : this.play().catch(() => {})));
    this.#failure = document.createElement("p");
    Object.assign(this.#failure, { className: "failure", role: "alert", hidden: true });
    this.#failure.setAttribute("part", "failure");
    // Among many buttons, of which music this one is.
    this.#play.setAttribute("aria-describedby", "music");
    shadow.append(this.#slot, this.#root, this.#failure, this.#caption, this.#open, this.#play);
    // A reader who comes to a picture that came with the page is likely to tap it, so fetch the module already; nothing changes on the page yet.
    const fetch = () => this.#invites && widgets().catch(() => {});
    for (const event of ["focusin", "pointerdown"]) this.addEventListener(event, fetch);
    // The same for sound.
    for (const event of ["focus", "pointerenter"]) this.#play.addEventListener(event, () => sounds().catch(() => {}));
    this.addEventListener("click", ({ target }) => {
      if (target !== this && this.#invites && !target.closest("a, [slot=caption]")) this.#start(false);
    });
    this.#root.addEventListener("click", ({ target }) => {
      const pad = target.closest(".pad");
      if (pad) this.#chosen = pad.dataset.start;
      this.#name();
    });
    this.#root.addEventListener("change", () => this.#name());
  }

  connectedCallback() {
    clearTimeout(this.#leaving);
    Example.#all.add(this);
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
    this.#translate();
    this.#refresh();
    this.#warn();
  }

  disconnectedCallback() {
    Example.#all.delete(this);
    clearTimeout(this.#warning);
    this.#changes.disconnect();
    Example.#near?.unobserve(this);
    Example.#resized?.unobserve(this.#root);
    this.#leave();
  }

  // Moved into another document, such as an iframe's: the styles have to be made again there.
  adoptedCallback() {
    this.#dress();
  }

  attributeChangedCallback(name, before, after) {
    if (before === after) return;
    const unknown = (name === "tools" || name === "controls") && [...this.#wanted].find((tool) => ![...TOOLS, "none"].includes(tool));
    if (unknown) this.#tell("error", { code: name, line: 0, column: 0, length: 0, message: SAYS.noTool(unknown) });
    if (name === "tempo" && after !== null && !(Number(after) > 0)) {
      this.#tell("error", { code: name, line: 0, column: 0, length: 0, message: SAYS.noTempo });
    }
    if (name === "text" || name === "src") {
      if (name === "src") {
        this.#fetched = this.#fetching = this.#lost = undefined;
        this.#failure.hidden = true;
      }
      // What was set before is older than the attribute.
      if (name === "text") this.#set = undefined;
      return this.#replace();
    }
    this.#refresh(name === "task" ? this.#given : undefined);
  }

  formResetCallback() {
    this.reset();
  }
  formDisabledCallback(disabled) {
    this.#root.inert = disabled;
  }
  // What a reader had recast before the page was left.
  formStateRestoreCallback(state) {
    if (typeof state !== "string" || state === this.text) return;
    this.#text = state;
    if (this.#widget) this.#refresh(state, { again: true });
    else this.#await();
  }

  // The line, including its figures as they are now.
  get text() {
    return this.#widget ? this.#widget.text() : (this.#text ?? this.#given);
  }
  set text(text) {
    text = String(text);
    // A page may set what it has just been told.
    if (text === this.text) return;
    this.#set = text;
    this.#replace();
  }

  // Takes back what a reader has recast.
  reset() {
    const before = this.text;
    this.#text = undefined;
    this.stop();
    this.#refresh(this.#given);
    if (this.#widget && this.text !== before) this.#tell("casting", { text: this.text, windows: this.#widget.windows(false) });
  }

  // Whether there is a drawing that reacts to taps.
  get drawn() {
    return this.#widget?.drawn() ?? false;
  }
  get playing() {
    return this.#sound?.sounding !== undefined;
  }

  get form() {
    return this.#internals.form;
  }
  get type() {
    return this.localName;
  }
  get value() {
    return this.text;
  }
  get willValidate() {
    return this.#internals.willValidate;
  }
  get validity() {
    return this.#internals.validity;
  }
  get validationMessage() {
    return this.#internals.validationMessage;
  }
  checkValidity() {
    return this.#internals.checkValidity();
  }
  reportValidity() {
    return this.#internals.reportValidity();
  }

  // Draws the example, wherever it is on the page, and resolves when that is done.
  async ready() {
    await this.#draw();
  }
  // What is recast: {bar, beat, figure, spelling} for each window.
  async windows() {
    return (await this.#draw()).windows(false);
  }
  async recast(bar, beat, figure, spelling) {
    (await this.#draw()).recast(bar, beat, figure, spelling);
  }
  async restore(bar, beat) {
    return (await this.#draw()).restore(bar, beat);
  }
  async svg(options) {
    const { Piece } = await pieces();
    await this.#load();
    const piece = new Piece(this.text);
    try {
      return piece.svg({ words: this.words ?? undefined, ...options });
    } finally {
      piece.free();
    }
  }

  async musicxml(options) {
    return this.#file("musicxml", options);
  }
  async midi(options) {
    return this.#file("midi", options);
  }

  // Plays the line once, or repeatedly with `loop`. Any other example that is playing stops.
  async play() {
    Example.#player?.stop();
    const sound = {};
    [this.#sound, Example.#player] = [sound, this];
    this.#play.textContent = SAYS.stop;
    try {
      // The clock comes first: browsers only let it start during a tap, which has ended when the modules are there.
      const [audio, { Sounding }] = await Promise.all([Example.#clock(), sounds(), this.#draw()]);
      // The example may have been stopped or removed by now.
      if (this.#sound !== sound) return;
      sound.sounding = new Sounding(audio, this.text);
      // One that is no tempo has been told, and doesn't count.
      sound.sounding.play(this.tempo > 0 ? this.tempo : undefined, this.loop);
      sound.timer = setInterval(() => this.#goOn(), OFTEN);
      this.#failure.hidden = true;
      this.#widget.say("");
      this.#show();
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
    if (Example.#player === this) Example.#player = undefined;
    clearInterval(timer);
    sounding?.free();
    this.#mark();
    this.#play.textContent = SAYS.play;
    this.#show();
  }

  // The line as a file of another program.
  async #file(kind, options) {
    const [module] = await Promise.all([exchanges(), this.#load()]);
    return module[kind](this.text, options);
  }

  static #clock() {
    Example.#audio ??= new AudioContext();
    // A browser that refuses says so by the clock's state.
    Example.#audio.resume().catch(() => {});
    return Example.#audio;
  }
  // Gives the clock back to the browser, unless another example plays.
  static #hush() {
    if (Example.#player) return;
    Example.#audio?.close();
    Example.#audio = undefined;
    sounds().then(({ Sounding }) => Example.#player || Sounding.forget(), () => {});
  }

  #dress() {
    const view = this.ownerDocument.defaultView;
    // A document without a window needs no styles.
    if (!view) return;
    const sheets = Example.#sheets;
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

  // The tools that the reader gets. Without a value, the attribute is as if it were missing.
  get #wanted() {
    const names = (this.tools || this.controls || "pads").toLowerCase().split(/\s+/);
    return new Set(names.filter((name) => name !== "").map((name) => ALIASES[name] ?? name));
  }

  // Whether a picture came with the page, so that nothing is drawn until a reader or a script asks.
  get #waits() {
    return !this.#widget && this.#set === undefined && this.#text === undefined && this.querySelector(":is(svg, img):not([slot=caption] *)") !== null;
  }

  // Whether to show the button that makes the half-bars tappable.
  get #invites() {
    const wanted = this.#wanted;
    return this.#waits && (wanted.has("pads") || wanted.has("figures"));
  }

  // Whether there is something to draw, or will be.
  get #has() {
    return this.text.trim() !== "" || (this.src !== null && this.#fetched === undefined);
  }

  // The line as the page gives it: set by a script, in an attribute, in a file, or inside the tag.
  get #given() {
    return this.#set ?? this.getAttribute("text") ?? (this.src === null ? undefined : this.#fetched) ?? this.#read();
  }

  // The text inside the tag: the content of its `pre`, or everything that is neither a picture nor a caption.
  #read() {
    const inside = this.querySelector("pre:not([slot=caption], [slot=caption] *)");
    if (inside) return inside.textContent;
    return [...this.childNodes]
      .filter((node) => !["figure", "svg", "img"].includes(node.localName) && node.slot !== "caption")
      .map((node) => node.textContent)
      .join("");
  }

  // Fetches the text from `src`, unless it is there or the page gives another one.
  #load() {
    if (this.src === null || this.#fetched !== undefined || this.#set !== undefined || this.hasAttribute("text")) return;
    const get = async (src) => {
      const url = new URL(src, this.ownerDocument.baseURI);
      const response = await fetch(url);
      if (!response.ok) throw new Error(SAYS.missing(url, response.status));
      if (response.headers.get("content-type")?.includes("html")) throw new Error(SAYS.page(url));
      return response.text();
    };
    const load = async (src) => {
      const found = await get(src).catch((error) => ({ error }));
      // It may have been replaced by now.
      if (this.src !== src) return;
      this.#lost = found.error;
      this.#fetched = found.error ? null : found;
      // What is inside the tag will do.
      if (found.error) this.#fail(found.error, "load");
    };
    return (this.#fetching ??= load(this.src).finally(() => (this.#fetching = undefined)));
  }

  // The page gives another text now: what a reader has recast stays where the notes are the same.
  #replace() {
    const loading = this.#widget && this.#load();
    if (loading) return void loading.then(() => this.#replace());
    if (this.#widget && this.#given === this.text) return;
    this.#text = undefined;
    this.stop();
    this.#refresh(this.#given, { keep: true });
    if (!this.isConnected) return;
    if (!this.#widget) this.#await();
    this.#warn();
  }

  // The content was changed, so that is the line now.
  #changed() {
    const inside = this.#read();
    this.#assign();
    if (inside === this.#inside || this.hasAttribute("text")) return;
    this.#inside = inside;
    this.#set = undefined;
    this.#replace();
  }

  // Tells the page's author if it stays empty.
  #warn() {
    clearTimeout(this.#warning);
    if (this.#has) return;
    const tell = () => this.#has || this.#tell("error", { code: "empty", line: 0, column: 0, length: 0, message: SAYS.empty });
    this.#warning = setTimeout(tell, SOON);
  }

  // Draws when a reader scrolls near, or touches the picture that came with the page.
  #await() {
    if (this.#waits) return;
    Example.#near ??= new IntersectionObserver(
      (entries) => {
        for (const { target } of entries.filter((entry) => entry.isIntersecting)) {
          Example.#near.unobserve(target);
          if (!target.#waits) target.#draw().catch(() => {});
        }
      },
      { rootMargin: NEAR },
    );
    if (this.#has) Example.#near.observe(this);
  }

  // Draws what isn't drawn yet, for a printer: as far as the modules and texts are there, since it doesn't wait.
  static {
    globalThis.addEventListener?.("beforeprint", () => {
      for (const one of Example.#all) if (!one.#waits && one.#has && widgets.ready && !one.#load()) one.#makeNow();
    });
    // So they are fetched once the page is there, if anything will be drawn.
    const fetch = () => {
      const all = [...Example.#all].filter((one) => !one.#waits && one.#has);
      if (all.length > 0) widgets().catch(() => {});
      for (const one of all) one.#load();
    };
    const idle = globalThis.requestIdleCallback ?? globalThis.setTimeout;
    if (globalThis.document?.readyState === "complete") idle(fetch);
    else globalThis.addEventListener?.("load", () => idle(fetch));
  }

  // A reader asked to tap half-bars.
  async #start(focus) {
    await this.#draw().catch(() => {});
    if (focus) this.#pad?.focus();
  }

  // The half-bar that the tab key reaches.
  get #pad() {
    return this.#root.querySelector(".pad[tabindex='0']");
  }

  // The drawing; makes it if there is none.
  #draw() {
    if (this.#widget) return Promise.resolve(this.#widget);
    const draw = async () => {
      try {
        const [module] = await Promise.all([widgets(), this.#load()]);
        if (this.#lost && !this.#has) throw this.#lost;
        return this.#make(module);
      } catch (error) {
        // What could not be fetched has been said.
        if (error !== this.#lost) this.#fail(error, "load");
        throw error;
      }
    };
    return (this.#drawing ??= draw().finally(() => (this.#drawing = undefined)));
  }
  #makeNow() {
    try {
      this.#make(widgets.ready);
    } catch (error) {
      this.#fail(error, "load");
    }
  }
  #make(module) {
    if (this.#widget) return this.#widget;
    this.#failure.hidden = !this.#lost;
    const widget = new module.Widget(this.#root, (name, detail) => this.#tell(name, detail));
    this.#widget = widget;
    // The available width is measured where the picture was.
    this.#root.hidden = false;
    const before = this.#text;
    try {
      this.#refresh(this.#given);
      if (before !== undefined) this.#refresh(before, { again: true });
    } catch (error) {
      // A page may forbid markup (Trusted Types).
      this.#widget = undefined;
      widget.free();
      this.#root.replaceChildren();
      this.#show();
      throw error;
    }
    if (this.isConnected) this.#watch();
    else this.#leave();
    return this.#widget;
  }

  // Draws again when the available width changes.
  #watch() {
    Example.#resized ??= new ResizeObserver((entries) => {
      // In the next frame: drawing changes the height, which an observer must not do in its own.
      requestAnimationFrame(() => entries.forEach(({ target }) => target.getRootNode().host?.#resize()));
    });
    Example.#resized.observe(this.#root);
  }
  #resize() {
    this.#widget?.resize();
    this.#show();
  }

  // Shows a text, or the one before, as the attributes are now. `how` is about what a reader has recast: see the widget's `show`.
  #refresh(text, how) {
    if (this.#widget) {
      const wanted = this.#wanted;
      const { view, figure, spelling, width, fingers, words, task } = this;
      const [pads, shelf] = [wanted.has("pads") || wanted.has("figures"), wanted.has("figures")];
      const options = { view, figure, spelling, width, fingers, words, pads, shelf };
      if (text !== undefined) this.#wrong = false;
      this.#widget.show(text, { ...options, task, ...how });
      this.#judge(false);
    }
    this.#show();
  }

  // Compares what is recast with a task, and tells a form.
  #judge(news) {
    this.#internals.setFormValue(this.text);
    if (!this.task) return this.#internals.setValidity({});
    const [now, answer] = [this.#widget.windows(false), this.#widget.windows(true)];
    const same = (a, b) => a.bar === b.bar && a.beat === b.beat && a.figure === b.figure;
    const [right, of] = [answer.filter((one) => now.some((other) => same(one, other))).length, answer.length];
    const done = !this.#wrong && right === of && now.length === of;
    const todo = right === of ? SAYS.tooMany : SAYS.todo(right, of);
    if (done) this.#internals.setValidity({});
    else this.#internals.setValidity({ customError: true }, Example.#said(todo), this.#pad ?? undefined);
    if (news) this.#tell("task", { done, right, of });
  }

  // Shows the drawing, or else what is inside the tag.
  #show() {
    const wanted = this.#wanted;
    this.#root.hidden = this.#widget === undefined;
    this.#open.hidden = !this.#invites;
    this.#play.hidden = !wanted.has("play") || !this.#has || (this.#wrong && !this.drawn);
    this.#assign();
    this.#name();
    const failed = !this.#failure.hidden || this.#wrong;
    const states = { drawn: this.drawn, playing: this.playing, waiting: this.#waits, failed };
    for (const [name, is] of Object.entries(states)) is ? this.#internals.states?.add(name) : this.#internals.states?.delete(name);
  }

  // Which of the content is shown: nothing beside a drawing; a picture instead of its text; a caption always.
  #assign() {
    const captions = [...this.children].filter((child) => child.slot === "caption");
    let content = [...this.childNodes].filter((node) => node.slot !== "caption" && [Node.ELEMENT_NODE, Node.TEXT_NODE].includes(node.nodeType));
    if (this.drawn) content = [];
    else if (this.#waits) content = content.filter((node) => node.localName !== "pre" && node.nodeType === Node.ELEMENT_NODE);
    this.#slot.assign(...content);
    this.#caption.assign(...captions);
  }

  // Names the half-bars and figures for the page's styles.
  #name() {
    for (const pad of this.#root.querySelectorAll(".pad")) {
      const recast = pad.ariaPressed === "true" ? " recast" : "";
      const chosen = pad.dataset.start === this.#chosen ? " chosen" : "";
      pad.setAttribute("part", `half-bar${recast}${chosen}`);
    }
    this.#root.querySelector(".shelf")?.setAttribute("part", "figures shelf");
    this.#root.querySelector(".music")?.setAttribute("id", "music");
    for (const figure of this.#root.querySelectorAll(".figures label")) {
      figure.setAttribute("part", figure.querySelector("input").checked ? "figure chosen" : "figure");
    }
  }

  // Puts what it says into the page's language. English stands in a page of any language, so it says that it is.
  #translate() {
    this.#takeBack?.();
    this.#takeBack = Example.#translation?.all(this.shadowRoot);
    const lang = Example.#language ?? (Example.#translation ? "" : "en");
    for (const one of [this.#root, this.#failure, this.#open, this.#play]) lang ? (one.lang = lang) : one.removeAttribute("lang");
  }
  static #said(words) {
    return Example.#translation?.say(words) ?? words;
  }

  // Removed from the document. An element that is only being moved is back before the next task.
  #leave() {
    clearTimeout(this.#leaving);
    this.#leaving = setTimeout(() => this.isConnected || this.#end());
  }
  #end() {
    if (this.#sound) {
      this.stop();
      Example.#hush();
    }
    this.#takeBack?.();
    this.#takeBack = undefined;
    if (!this.#widget) return;
    const now = this.text;
    if (now !== this.#given) this.#text = now;
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
  // Draws the line with its names, which another module finds. Without that module, it is drawn without them.
  async #callNames() {
    const [widget, text, asked] = [this.#widget, this.text, {}];
    this.#asked = asked;
    const found = await pieces().then(({ names }) => names(text), (error) => (console.warn("<half-bar>", error.message), []));
    // Another text may have asked for its own names by now.
    if (this.#widget !== widget || this.#asked !== asked) return;
    widget.name(found);
    this.#show();
  }
  #tell(name, detail) {
    if (name === "names") return this.#callNames();
    if (name === "error" && detail.line > 0) this.#wrong = true;
    if ((name === "error" || name === "remark") && detail.message === undefined) return this.#explain(name, detail);
    if (name === "error" && detail.line > 0) this.#widget.explain(detail.line, detail.column, detail.message);
    if (name === "casting") {
      // A tap takes effect the next time that half-bar comes around.
      this.#sound?.sounding?.change(detail.text);
    }
    // The page's author may not listen for events.
    if (name === "error" && detail.line === 0) console.warn("<half-bar>", detail.message);
    this.dispatchEvent(new CustomEvent(`halfbar-${name}`, { detail, bubbles: true, composed: true }));
    if (name === "casting") this.#judge(this.task);
  }
  #fail(error, code) {
    const message = error?.message ?? String(error);
    this.#failure.textContent = code === "load" ? SAYS.lost(message) : SAYS.silent(message);
    this.#failure.hidden = false;
    this.#show();
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
    this.#mark(note);
    if (note !== undefined) this.#tell("note", { note, when: performance.now() });
  }
  // Marks a note as sounding, in staff and tab.
  #mark(note) {
    for (const sign of this.#root.querySelectorAll(".sounding")) sign.classList.remove("sounding");
    for (const sign of this.#root.querySelectorAll(`.row > div [data-note="${note}"]`)) sign.classList.add("sounding");
  }
}

for (const [name, kind] of Object.entries(ATTRIBUTES)) {
  Object.defineProperty(Example.prototype, name, {
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

// Another copy of this file may have been there first: a tag has one class.
const first = globalThis.customElements?.get("half-bar");
if (first) console.warn("<half-bar>", SAYS.twice);
else globalThis.customElements?.define("half-bar", Example);

export const HalfBar = first ?? Example;
