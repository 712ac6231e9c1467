import "half-bar";
import { useEffect, useRef, useState } from "react";
import line from "../lines/quay-steps.txt?raw";

const says = (windows) => windows.map(({ figure, bar, beat }) => `${figure} at ${bar}.${beat}`).join(", ");

// Rendered on the server. React doesn't add listeners for a custom element's events when it hydrates, so an effect does.
export function Lesson() {
  const example = useRef(null);
  const [text, setText] = useState(line);
  const [heard, setHeard] = useState("");
  useEffect(() => {
    const hear = ({ detail: { text, windows } }) => {
      setText(text);
      setHeard(says(windows));
    };
    const { current } = example;
    current.addEventListener("halfbar-casting", hear);
    return () => current.removeEventListener("halfbar-casting", hear);
  }, []);
  return (
    <>
      <h1>Week 17: up the quay steps</h1>
      <half-bar ref={example} figure="split-middle" tools="pads play" text={text} />
      <output>{heard}</output>
    </>
  );
}

// Rendered in the browser.
export function Exercise() {
  const [heard, setHeard] = useState("");
  return (
    <>
      <half-bar tools="none" fingers onhalfbar-casting={({ detail }) => setHeard(says(detail.windows))}>
        <pre>{line}</pre>
      </half-bar>
      <output>{heard}</output>
    </>
  );
}
