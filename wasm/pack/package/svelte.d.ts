import type { HTMLAttributes } from "svelte/elements";
import type { HalfBar, HalfBarAttributes, HalfBarEventMap } from "./half-bar.js";

export * from "./half-bar.js";

// With a colon as it was written before Svelte 5.
type Listeners = {
  [Name in keyof HalfBarEventMap as `on${Name}` | `on:${Name}`]?: (event: HalfBarEventMap[Name]) => void;
};

declare module "svelte/elements" {
  interface SvelteHTMLElements {
    "half-bar": HTMLAttributes<HalfBar> & HalfBarAttributes & Listeners;
  }
}
