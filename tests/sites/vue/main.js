import { createApp } from "vue";
import Lesson from "./Lesson.vue";

createApp(Lesson).mount("main");
