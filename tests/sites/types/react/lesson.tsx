import { useRef } from "react";
import type { HalfBar } from "half-bar/react";
import "half-bar/half-bar.css";

export function Lesson({ text }: { text: string }) {
  const example = useRef<HalfBar>(null);
  return (
    <div>
      <half-bar
        ref={example}
        text={text}
        view="staff"
        tools="pads play"
        width={60}
        tempo="96"
        loop
        className="wide"
        onhalfbar-casting={({ detail }) => console.log(detail.windows[0]?.figure.length)}
        onhalfbar-task={({ detail: { right, of } }) => console.log(right === of)}
      />
      <half-bar src="line.txt" task name="answer">
        <figure slot="caption">Two bars</figure>
      </half-bar>
      <button onClick={() => example.current?.reset()}>Again</button>
      {/* @ts-expect-error: there is no such view */}
      <half-bar view="sideways" />
      {/* @ts-expect-error: there is no such attribute */}
      <half-bar notes="C4 D E F" />
      {/* @ts-expect-error: there is no such tool */}
      <half-bar tools="pads pause" />
      {/* @ts-expect-error: what is wanted must be said */}
      <half-bar tools />
      {/* @ts-expect-error: a width is a number */}
      <half-bar width="wide" />
      {/* @ts-expect-error: a casting has no message */}
      <half-bar onhalfbar-casting={({ detail }) => detail.message} />
    </div>
  );
}
