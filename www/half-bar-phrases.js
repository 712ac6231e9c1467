// The words of the <half-bar> element in a language that a page sets: phrases in English with what they are in the other language.

// What is read out or shown besides text, and what holds nothing of ours.
const LABELS = ["aria-label", "title"];
const OWN = "svg, textarea, code, [translate=no]";

// Makes of phrases what translates a sentence, and everything in a root.
export function translation(phrases) {
  const say = translator(phrases);
  return { say, all: (root) => translate(root, say) };
}

// Makes a translator of phrases such as {"Play": "Écouter", "bar {} beat {}": "mesure {}, temps {}"}. What stands at `{}` is translated too. At the
// start of a sentence, both have a capital letter.
function translator(phrases) {
  const literal = (text) => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
  const either = (text) => text.replace(/^\p{L}/u, (letter) => `[${letter.toLowerCase()}${letter.toUpperCase()}]`);
  // After a colon or in parentheses, what stands at `{}` is any text; otherwise it is within a clause.
  const hole = (before) => (/[:(] ?$/.test(before) ? "(.+)" : "([^,:;.]+)");
  const pattern = (phrase) => {
    const parts = phrase.split("{}");
    const whole = parts.map((words, at) => (at === 0 ? either(literal(words)) : hole(parts[at - 1]) + literal(words)));
    return new RegExp(`(?<![\\p{L}\\d])${whole.join("")}(?![\\p{L}\\d])`, "u");
  };
  const capital = (text) => text.replace(/^\p{L}/u, (letter) => letter.toUpperCase());
  const rules = Object.entries(phrases)
    .filter(([from]) => /[\p{L}\d]/u.test(from))
    .map(([from, to]) => ({ pattern: pattern(from), own: from.replaceAll("{}", "").length, to: String(to).split("{}") }));
  const say = (text) => {
    // The one that says most of it, and of those that say the same, the one with the most words of its own.
    const found = rules
      .map(({ pattern, own, to }) => ({ match: pattern.exec(text), own, to }))
      .filter(({ match }) => match)
      .sort((a, b) => b.match[0].length - a.match[0].length || b.own - a.own)[0];
    if (!found) return text;
    const { match, to } = found;
    const [all, ...parts] = match;
    const middle = to.map((words, at) => (at > 0 ? say(parts[at - 1] ?? "") : "") + words).join("");
    const starts = /^\p{Lu}/u.test(all);
    return say(text.slice(0, match.index)) + (starts ? capital(middle) : middle) + say(text.slice(match.index + all.length));
  };
  return say;
}

// Keeps everything inside a root in another language, before it is painted. Returns what ends that and takes it back.
function translate(root, say) {
  // What was written, and what it became.
  const done = new Map();
  const put = (node, name, get, set) => {
    const before = get();
    if (before === null || done.get(node)?.[name]?.now === before) return;
    const now = say(before);
    if (now === before || (node.parentElement ?? node).closest?.(OWN)) return;
    done.set(node, { ...done.get(node), [name]: { before, now, get, set } });
    set(now);
  };
  const texts = (node) => put(node, "", () => node.nodeValue, (text) => (node.nodeValue = text));
  const labels = (element) => {
    for (const name of LABELS) put(element, name, () => element.getAttribute(name), (text) => element.setAttribute(name, text));
  };
  const all = (within) => {
    const walker = document.createTreeWalker(within, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    for (let node = within; node; node = walker.nextNode()) {
      if (node.nodeType === Node.TEXT_NODE) texts(node);
      else if (node.nodeType === Node.ELEMENT_NODE) labels(node);
    }
  };
  const observer = new MutationObserver((records) => {
    for (const { target } of records) target.nodeType === Node.TEXT_NODE ? texts(target) : all(target);
    for (const node of done.keys()) if (!node.isConnected) done.delete(node);
  });
  all(root);
  observer.observe(root, { childList: true, characterData: true, subtree: true, attributeFilter: LABELS });
  return () => {
    observer.disconnect();
    // Unless something else has been written since.
    for (const parts of done.values()) for (const { before, now, get, set } of Object.values(parts)) if (get() === now) set(before);
  };
}
