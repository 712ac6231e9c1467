import type { HTMLAttributes, PublicProps } from "vue";
import type { HalfBar, HalfBarAttributes, HalfBarEventMap } from "./half-bar.js";

export * from "./half-bar.js";

// A template's `@halfbar-casting` is `onHalfbarCasting` to Vue.
type Listener<Name> = Name extends `halfbar-${infer What}` ? `onHalfbar${Capitalize<What>}` : never;
type Listeners = { [Name in keyof HalfBarEventMap as Listener<Name>]?: (event: HalfBarEventMap[Name]) => void };

declare module "vue" {
  interface GlobalComponents {
    "half-bar": new () => HalfBar & { $props: HTMLAttributes & HalfBarAttributes & Listeners & PublicProps };
  }
}
