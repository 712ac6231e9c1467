import { mount } from "svelte";
import Lesson from "./Lesson.svelte";

mount(Lesson, { target: document.querySelector("main") });
