// Words of the trade: a press on one opens a small box below it with what it means; one is open at a time.

/** Listen to presses on terms in `root` until `signal` says stop. */
export function explainTerms(root: ParentNode & EventTarget, signal: AbortSignal): void {
  for (const term of root.querySelectorAll("a.term")) term.setAttribute("role", "button");
  for (const term of root.querySelectorAll(".term")) term.setAttribute("aria-expanded", "false");
  let open: { button: HTMLElement; box: HTMLElement } | null = null;

  const close = () => {
    open?.box.remove();
    open?.button.setAttribute("aria-expanded", "false");
    open?.button.removeAttribute("aria-controls");
    open = null;
  };

  root.addEventListener("click", (event) => {
    const button = (event.target as Element).closest<HTMLElement>(".term");
    const same = button === open?.button;
    if (open?.box.contains(event.target as Node)) return;
    close();
    if (button) event.preventDefault(); // without scripts it is a link to the meaning
    if (!button || same) return;
    const meaning = meaningOf(root, button.dataset["term"] ?? "");
    if (meaning) open = { button, box: opened(button, meaning) };
  }, { signal });

  root.addEventListener("keydown", (event) => {
    const { key, target } = event as KeyboardEvent;
    if (key === " " && (target as Element).matches("a.term")) {
      event.preventDefault();
      (target as HTMLElement).click(); // as a button would
    }
    if (key !== "Escape" || !open) return;
    const { button } = open;
    close();
    button.focus();
  }, { signal });
}

function meaningOf(root: ParentNode, term: string): string | null {
  const word = root.querySelector(`#term-${CSS.escape(term)}`);
  const meaning = word?.querySelector("dd") ?? word?.nextElementSibling;
  return meaning?.textContent?.trim() ?? null;
}

function opened(button: HTMLElement, meaning: string): HTMLElement {
  const box = document.createElement("span");
  box.className = "meaning";
  box.id = "meaning";
  box.setAttribute("role", "note");
  box.textContent = meaning;
  Object.assign(box.style, { position: "absolute", zIndex: "2", width: "max-content", maxWidth: "min(22rem, 90vw)" });
  button.after(box);
  button.setAttribute("aria-expanded", "true");
  button.setAttribute("aria-controls", box.id);
  const beyond = button.getBoundingClientRect().left + box.offsetWidth + 8 - document.documentElement.clientWidth;
  box.style.left = `${button.offsetLeft - Math.max(0, beyond)}px`;
  box.style.top = `${button.offsetTop + button.offsetHeight + 4}px`;
  return box;
}
