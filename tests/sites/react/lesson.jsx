import "half-bar";
import { useState } from "react";
import line from "../lines/quay-steps.txt?raw";

export function Lesson() {
  const [text, setText] = useState(line);
  const [heard, setHeard] = useState("");
  const cast = ({ detail: { text, windows } }) => {
    setText(text);
    setHeard(windows.map(({ figure, bar, beat }) => `${figure} at ${bar}.${beat}`).join(", "));
  };
  return (
    <>
      <h1>Week 17: up the quay steps</h1>
      <half-bar figure="split-middle" tools="pads play" text={text} onhalfbar-casting={cast}></half-bar>
      <half-bar tools="none" fingers>
        <pre>{line}</pre>
      </half-bar>
      <output>{heard}</output>
    </>
  );
}
