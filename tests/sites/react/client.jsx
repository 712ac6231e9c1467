import "half-bar/half-bar.css";
import { hydrateRoot } from "react-dom/client";
import { Lesson } from "./lesson.jsx";

hydrateRoot(document.getElementById("lesson"), <Lesson />);
