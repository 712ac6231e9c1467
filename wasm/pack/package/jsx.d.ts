import type { HalfBar, HalfBarAttributes, HalfBarEventMap } from "./half-bar.js";

export * from "./half-bar.js";

type Listeners = { [Name in keyof HalfBarEventMap as `on${Name}`]?: (event: HalfBarEventMap[Name]) => void };

/** What every element has. Names with a hyphen, such as `aria-label`, need no declaration in JSX. */
interface Everywhere {
  children?: unknown;
  class?: string;
  className?: string;
  dir?: "ltr" | "rtl" | "auto";
  hidden?: boolean;
  id?: string;
  key?: string | number;
  lang?: string;
  ref?: { current: HalfBar | null } | ((element: HalfBar | null) => unknown);
  role?: string;
  slot?: string;
  style?: string | object;
  title?: string;
}

declare global {
  namespace JSX {
    interface IntrinsicElements {
      "half-bar": Everywhere & HalfBarAttributes & Listeners;
    }
  }
}
