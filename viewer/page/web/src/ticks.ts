// Ticks of done steps, kept by the browser where it lets us, by the numbers of the steps.

const tickBoxes = (root: ParentNode) => [...root.querySelectorAll<HTMLInputElement>("input[data-done]")];

function read(key: string): Set<string> {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(key) ?? "[]");
    return new Set(Array.isArray(kept) ? kept.map(String) : []);
  } catch {
    return new Set(); // nothing can be kept here, or something else is
  }
}

function write(key: string, root: ParentNode): void {
  const done = tickBoxes(root).filter((box) => box.checked).map((box) => Number(box.dataset["done"]));
  try {
    localStorage.setItem(key, JSON.stringify(done));
  } catch {
    return; // a browser that keeps nothing still shows the ticks
  }
}

/** Set the ticks as they were kept under `key`, and keep them up until `signal` says stop. */
export function keepTicks(root: ParentNode & EventTarget, key: string, signal: AbortSignal): void {
  const done = read(key);
  for (const box of tickBoxes(root)) box.checked = done.has(box.dataset["done"] ?? "");
  const clear = root.querySelector<HTMLElement>("#clear-done");
  if (clear) clear.hidden = false;
  root.addEventListener("change", (event) => {
    if ((event.target as Element).matches("input[data-done]")) write(key, root);
  }, { signal });
  root.addEventListener("click", (event) => {
    if (!(event.target as Element).closest("#clear-done")) return;
    for (const box of tickBoxes(root)) box.checked = false;
    write(key, root);
  }, { signal });
}
