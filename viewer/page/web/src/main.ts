// The page's entry: the data that the page carries, and the viewer on it.

import type { PageData } from "./data";
import { mount } from "./mount";
import type { PageViewer } from "./mount";

declare global {
  interface Window {
    lapwright: { viewer: PageViewer };
  }
}

const data = JSON.parse(document.getElementById("data")?.textContent ?? "null") as PageData;
window.lapwright = { viewer: mount(document, data) };
