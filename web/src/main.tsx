/** Puts the page on the screen. */

import { render } from "preact";
import { App } from "./app.tsx";
import "uplot/dist/uPlot.min.css";
import "./style.css";

const place = document.getElementById("page");
if (place === null) throw new Error("index.html has no #page");
render(<App />, place);
