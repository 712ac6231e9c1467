import "half-bar/half-bar.css";
import { createRoot, hydrateRoot } from "react-dom/client";
import { Exercise, Lesson } from "./lesson.jsx";

hydrateRoot(document.getElementById("lesson"), <Lesson />);
createRoot(document.getElementById("exercise")).render(<Exercise />);
