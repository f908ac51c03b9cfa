// What the page says in words of what is shown: titles, lists and buttons, always in agreement with the drawing.

import type { PageData, Subject } from "./data";
import { setChosen, setTicks } from "./parts";
import { address, stageOf, setCurrent, setStill } from "./steps";

/** What is shown, as far as words tell it. */
export interface Told {
  data: PageData;
  subject: Subject;
  box: number;
  step: number; // 0: the box
  explode: number;
  chosen: number; // place in the list of parts, or -1
  shows: (part: number) => boolean; // by place in the list
}

export function titleOf(root: ParentNode, { data, box, step, explode }: Told): string {
  if (step) return [`Step ${step} of ${data.steps.length}`, stageOf(root, step)].filter(Boolean).join(": ");
  const name = box ? (data.boxes[box]?.title ?? "") : "The box";
  return `${name}, ${explode === 1 ? "taken apart" : explode ? "partly taken apart" : "put together"}`;
}

const KEYS = "Arrow keys turn it, plus and minus make it larger and smaller, 0 shows it as at first.";

export function entitle(root: ParentNode, told: Told): void {
  const title = titleOf(root, told);
  const [heading, view] = [root.querySelector("#stage-title"), root.querySelector("#view")];
  if (heading) heading.textContent = title;
  view?.setAttribute("aria-label", `${title.replace(/[.!]$/, "")}. ${KEYS}`);
}

/** Tell all of it; `follow` brings the current step into view. */
export function tell(root: ParentNode, told: Told, follow: boolean): void {
  const { data, step, box, chosen, shows } = told;
  document.documentElement.classList.toggle("stepping", step > 0);
  address(step);
  setTicks(root, shows, step > 0);
  setChosen(root, chosen);
  setCurrent(root, step, follow);
  tellStill(root, step);
  for (const words of root.querySelectorAll<HTMLElement>(".of-box")) {
    words.hidden = step > 0 || Number(words.dataset["box"]) !== box;
  }
  hold(root, "#show-box, #previous", step === 0);
  hold(root, "#next", step === data.steps.length);
  for (const apart of root.querySelectorAll<HTMLInputElement>("#apart")) apart.disabled = step > 0;
  entitle(root, told);
}

export const tellStill = (root: ParentNode, step: number): void =>
  setStill(root, step, document.documentElement.classList.contains("no-webgl"));

export function say(root: ParentNode, words: string): void {
  const status = root.querySelector("#status");
  if (status) status.textContent = words;
}

/** A button that does nothing now says so, but keeps the keyboard's focus. */
function hold(root: ParentNode, buttons: string, now: boolean): void {
  for (const button of root.querySelectorAll(buttons)) button.setAttribute("aria-disabled", String(now));
}

/** Say whether the drawing turns or stills stand in for it. */
export function tellWebgl(root: ParentNode, works: boolean): void {
  const { classList } = document.documentElement;
  classList.toggle("webgl", works);
  classList.toggle("no-webgl", !works);
  for (const part of root.querySelectorAll("#view, #labels, #leaders")) part.toggleAttribute("hidden", !works);
  for (const part of root.querySelectorAll(".needs-webgl")) part.toggleAttribute("hidden", !works);
}
