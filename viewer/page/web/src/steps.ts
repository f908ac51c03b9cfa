// The list of steps: which one is current, in the list, in the address and in words; and its still picture.

import { plain } from "./parts";

const entries = (root: ParentNode) => [...root.querySelectorAll<HTMLElement>(".step[data-step]")];
const numberOf = (entry: HTMLElement) => Number(entry.dataset["step"]);

/** The step that an element asks for, if it does. */
export function askedStep(target: Element): number | null {
  const go = target.closest(".step .go");
  if (go) return Number(go.closest<HTMLElement>(".step")?.dataset["step"]);
  const link = /^#step-(\d+)$/.exec(target.closest("a")?.getAttribute("href") ?? "");
  return link ? Number(link[1]) : null;
}

/** The step that the address asks for; 0 for none. */
export function addressed(count: number): number {
  const number = Number(/^#step-(\d+)$/.exec(location.hash)?.[1] ?? 0);
  return number <= count ? number : 0;
}

/** Have the address name the step, without a new entry in the browser's history. */
export function address(step: number): void {
  const wanted = step ? `#step-${step}` : "";
  if (location.hash === wanted) return;
  try {
    history.replaceState(null, "", location.href.split("#")[0] + wanted);
  } catch {
    location.replace(wanted || "#"); // some browsers refuse that to a page that is opened as a file
  }
}

/** Mark one step as current, 0 none, and scroll to it if asked: at once, as its own words open at the same time. */
export function setCurrent(root: ParentNode, step: number, scroll: boolean): void {
  for (const entry of entries(root)) {
    const mine = numberOf(entry) === step;
    entry.classList.toggle("current", mine);
    if (mine) entry.setAttribute("aria-current", "step");
    else entry.removeAttribute("aria-current");
    if (mine && scroll) entry.scrollIntoView({ block: "start", behavior: "instant" });
  }
}

const entryOf = (root: ParentNode, step: number) => entries(root).find((one) => numberOf(one) === step);

/** The stage of the making that a step belongs to, as its heading has it; empty where there is none. */
export const stageOf = (root: ParentNode, step: number): string =>
  (entryOf(root, step)?.closest("ol")?.previousElementSibling?.textContent ?? "").toLowerCase();

/** What the list says of a step: its sentence, without the number before it. */
export function sentence(root: ParentNode, step: number): string {
  const entry = entryOf(root, step);
  const words = entry?.querySelector(".action") ?? entry?.querySelector(".go");
  return plain(words?.textContent ?? "").replace(/^\d+\W*\s+/, "");
}

/** What stills share becomes part of the page where the first is shown: with scripts, a browser reads neither before. */
function revealShared(root: ParentNode): void {
  const unread = root.querySelector("#shared noscript");
  const place = unread?.parentElement;
  if (place) place.innerHTML = unread.textContent ?? "";
}

/** Show the still of one step, or for 0 that of the box, in place of the drawing if `stills` are shown at all. */
export function setStill(root: ParentNode, step: number, stills: boolean): void {
  const [still, place] = [root.querySelector<HTMLElement>("#still"), root.querySelector<HTMLElement>("#step-still")];
  if (still) still.hidden = !stills || step > 0;
  if (!place) return;
  const picture = entryOf(root, step)?.querySelector(".step-still noscript")?.textContent ?? "";
  if (stills && picture) revealShared(root);
  place.innerHTML = stills ? picture : "";
  place.hidden = !stills || step === 0;
}
