// For a bundler that doesn't copy what a module finds beside itself: the page says where the WebAssembly is.
import { HalfBar } from "half-bar";

HalfBar.wasm = "half-bar/";
