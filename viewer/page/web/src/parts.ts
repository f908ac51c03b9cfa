// The list of parts: ticks that show and hide, entries that open; it always says what is shown.

const entries = (root: ParentNode) => [...root.querySelectorAll<HTMLElement>("#parts [data-part]")];
const numberOf = (entry: HTMLElement) => Number(entry.dataset["part"]);
const tickOf = (entry: HTMLElement) => entry.querySelector<HTMLInputElement>("input.shown");

/** Set the ticks: those of `shown` on and free, or, for a step, its parts on and all held. */
export function setTicks(root: ParentNode, shown: (part: number) => boolean, held: boolean): void {
  for (const entry of entries(root)) {
    const tick = tickOf(entry);
    if (!tick) continue;
    tick.checked = shown(numberOf(entry));
    tick.disabled = held;
    entry.classList.toggle("away", !tick.checked);
  }
}

/** Open the entry of one part and close the others; -1 closes all. */
export function setChosen(root: ParentNode, part: number): void {
  for (const entry of entries(root)) {
    const mine = numberOf(entry) === part;
    entry.classList.toggle("chosen", mine);
    entry.querySelector("button.part")?.setAttribute("aria-expanded", String(mine));
    const more = entry.querySelector<HTMLElement>(".part-more");
    if (more) more.hidden = !mine;
    if (mine) more?.querySelector("details")?.setAttribute("open", "");
    if (mine) scrollWithin(entry);
  }
}

/** What the list says of a part: its name and size. */
export function wordsOf(root: ParentNode, part: number): string {
  const entry = entries(root).find((one) => numberOf(one) === part);
  const button = entry?.querySelector("button.part");
  const number = button?.querySelector(".number")?.textContent ?? "";
  const name = (button?.textContent ?? "").trim();
  const size = entry?.querySelector(".size")?.textContent ?? "";
  return [name.startsWith(number) ? name.slice(number.length) : name, size].map(plain).filter(Boolean).join(", ");
}

export const plain = (text: string): string => text.replace(/\s+/g, " ").trim();

/** Scroll the list that an entry is in, but not the page: the drawing would leave the screen. */
function scrollWithin(entry: HTMLElement): void {
  let list = entry.parentElement;
  while (list && list !== document.body && list.scrollHeight <= list.clientHeight) list = list.parentElement;
  if (!list || list === document.body || getComputedStyle(list).overflowY === "visible") return;
  const [inner, outer] = [entry.getBoundingClientRect(), list.getBoundingClientRect()];
  if (inner.top < outer.top) list.scrollTop -= outer.top - inner.top;
  else if (inner.bottom > outer.bottom) list.scrollTop += Math.min(inner.bottom - outer.bottom, inner.top - outer.top);
}
