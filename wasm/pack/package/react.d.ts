import type { DetailedHTMLProps, HTMLAttributes } from "react";
import type { HalfBar, HalfBarAttributes, HalfBarEventMap } from "./half-bar.js";

export * from "./half-bar.js";

type Listeners = { [Name in keyof HalfBarEventMap as `on${Name}`]?: (event: HalfBarEventMap[Name]) => void };

declare module "react" {
  namespace JSX {
    interface IntrinsicElements {
      "half-bar": DetailedHTMLProps<HTMLAttributes<HalfBar> & HalfBarAttributes & Listeners, HalfBar>;
    }
  }
}
