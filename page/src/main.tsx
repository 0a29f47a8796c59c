import { render } from "preact";
import { App } from "./app";
import "uplot/dist/uPlot.min.css";
import "./style/fonts.css";
import "./style/paper.css";
import "./style/parts.css";
import "./style/sheet.css";
import "./style/camera.css";
import "./style/events.css";
import "./style/jobs.css";
import "./style/focus.css";
import "./style/found.css";
import "./style/bench.css";

const root = document.getElementById("page");
if (root) render(<App />, root);
