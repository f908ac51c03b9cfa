// Words of the trade: a press on one opens a small box below its sentence with what it means; one is open at a time.

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
    const found = meaningOf(root, button.dataset["term"] ?? "");
    if (found) open = { button, box: opened(button, found) };
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

interface Meaning {
  word: string;
  meaning: string;
}

function meaningOf(root: ParentNode, term: string): Meaning | null {
  const word = root.querySelector(`#term-${CSS.escape(term)}`);
  const meaning = word?.nextElementSibling?.textContent?.trim();
  return word && meaning ? { word: word.textContent?.trim() ?? "", meaning } : null;
}

/** Put the box under the sentence, which stays to be read. */
function opened(button: HTMLElement, { word, meaning }: Meaning): HTMLElement {
  const box = document.createElement("p");
  box.className = "meaning";
  box.id = "meaning";
  box.setAttribute("role", "note");
  const name = document.createElement("b");
  name.textContent = word;
  box.append(name, `: ${meaning}`);
  (button.closest("h4, p") ?? button).after(box);
  button.setAttribute("aria-expanded", "true");
  button.setAttribute("aria-controls", box.id);
  return box;
}
