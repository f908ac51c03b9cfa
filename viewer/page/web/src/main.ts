// The page's entry: the data that the page carries, and the viewer on it.

import { unpacked } from "./data";
import { mount } from "./mount";
import type { PageViewer } from "./mount";

declare global {
  interface Window {
    lapwright: { viewer: PageViewer };
  }
}

const data = unpacked(document.getElementById("data")?.textContent ?? "");
window.lapwright = { viewer: mount(document, data) };
