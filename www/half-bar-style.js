// How the inside of a <half-bar> looks. A page changes it by custom properties and parts.
export const styles = `
:host {
  --soft: var(--half-bar-soft, color-mix(in srgb, currentcolor 75%, transparent));
  --accent: var(--half-bar-accent, light-dark(#8a3b12, #f0a070));
  --on-accent: var(--half-bar-on-accent, light-dark(#fffdf8, #191714));
  --wrong: var(--half-bar-wrong, light-dark(#9b1c1c, #ff9d8f));
  display: block;
  margin: 1em 0;
  background: var(--half-bar-paper, none);
  color: var(--half-bar-ink, inherit);
  font: var(--half-bar-font, inherit);
}

:host([hidden]),
[hidden] {
  display: none !important;
}

* {
  box-sizing: border-box;
}

::slotted(pre) {
  overflow-x: auto;
}

/* The picture that came with the page stands for the text. */
.waits::slotted(pre) {
  display: none;
}

::slotted(figure) {
  margin: 0;
}

.music svg {
  display: block;
  width: 100%;
  height: auto;
  overflow: visible;
}

.definitions {
  position: absolute;
  width: 0;
  height: 0;
}

.row {
  position: relative;
  margin-bottom: 1.5rem;
}

.stale .row,
.stale .head {
  opacity: 0.45;
}

.sounding {
  color: var(--accent);
  fill: var(--accent);
}

/* A pad: an open frame with the plain rhythm; filled when the half-bar is recast. */
.pad {
  position: absolute;
  display: grid;
  place-items: center;
  margin: 0;
  padding: 0.2rem;
  border: 1px solid var(--soft);
  border-radius: 0.4rem;
  background: none;
  color: var(--soft);
  cursor: pointer;
  touch-action: manipulation;
}

.music .pad svg {
  width: auto;
  max-width: 100%;
  height: 100%;
  min-height: 0;
}

@media (hover: hover) {
  .pad:hover {
    border-color: var(--accent);
    color: inherit;
  }
}

.pad[aria-pressed="true"] {
  border-color: var(--accent);
  background: var(--accent);
  color: var(--on-accent);
}

.pad[aria-disabled="true"] {
  border-style: dashed;
  opacity: 0.6;
  cursor: help;
}

:focus-visible {
  outline: 3px solid var(--accent);
  outline-offset: 2px;
}

.shelf {
  display: flex;
  flex-wrap: wrap;
  gap: 0.4rem 2rem;
}

fieldset {
  min-width: 0;
  margin: 0;
  padding: 0;
  border: 0;
}

legend {
  padding: 0;
  color: var(--soft);
  font-style: italic;
}

.choices {
  display: flex;
  flex-wrap: wrap;
  gap: 0.4rem;
}

.figures {
  flex-wrap: nowrap;
  overflow-x: auto;
  padding: 0.2rem 0.2rem 0.4rem;
}

.choices label {
  position: relative;
  display: flex;
  flex: none;
  flex-direction: column;
  justify-content: center;
  align-items: center;
  min-width: 2.75rem;
  min-height: 2.75rem;
  padding: 0.3rem 0.6rem;
  border: 1px solid var(--soft);
  border-radius: 0.4rem;
  font-size: 0.9rem;
  line-height: 1.3;
  cursor: pointer;
  touch-action: manipulation;
}

.choices input {
  position: absolute;
  opacity: 0;
  pointer-events: none;
}

.choices label:has(:checked) {
  border-color: var(--accent);
  box-shadow: inset 0 -0.25rem 0 var(--accent);
}

.choices label:has(:focus-visible) {
  outline: 3px solid var(--accent);
  outline-offset: 2px;
}

.choices label:has(:disabled) {
  border-style: dashed;
  color: var(--soft);
  cursor: default;
}

.choices .picture svg {
  display: block;
  width: auto;
  height: 2.6rem;
}

.open,
.play {
  min-width: 4.5rem;
  min-height: 2.75rem;
  margin: 0.25rem 0.5rem 0.25rem 0;
  padding: 0 0.8rem;
  border: 1px solid var(--soft);
  border-radius: 0.4rem;
  background: none;
  color: inherit;
  font: inherit;
  cursor: pointer;
}

p {
  margin: 0.25rem 0;
  overflow-wrap: anywhere;
}

.status:empty {
  display: none;
}

.problem,
.failure {
  padding-left: 0.75rem;
  border-left: 0.3rem solid var(--wrong);
}

/* Forced colours keep the filled shape of a recast half-bar. */
@media (forced-colors: active) {
  .pad[aria-pressed="true"] {
    background: Highlight;
    color: HighlightText;
    forced-color-adjust: none;
  }
}

/* On paper: the music alone. */
@media print {
  .pad,
  .shelf,
  .open,
  .play,
  .status {
    display: none;
  }
}
`;
