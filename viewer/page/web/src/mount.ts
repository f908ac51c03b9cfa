// The viewer on its page: what is shown now, what is asked for, and what is drawn then.
//
// It draws only on change, at the browser's next frame.

import { boundsIn, UNZOOMED } from "./camera";
import type { Direction, Point, Rectangle, View } from "./camera";
import { BUTTONS, handle } from "./controls";
import type { Hands } from "./controls";
import { boxSubject, stepSubject } from "./data";
import type { Box, PageData, Part, Subject } from "./data";
import { Drawing } from "./drawing";
import { entitle, say, tell, tellStill, tellWebgl, titleOf } from "./lists";
import type { Told } from "./lists";
import { Look } from "./look";
import { setChosen, setTicks, wordsOf } from "./parts";
import type { Frame } from "./picture";
import { addressed, askedStep, sentence } from "./steps";
import { explainTerms } from "./terms";
import { keepTicks } from "./ticks";

const NARROW = 600; // CSS pixels; on a narrower page what turns the box by buttons is folded away at first

/** What tests look at: what is shown, in plain numbers. */
export interface State {
  step: number; // 0: the box
  box: number;
  direction: Direction;
  explode: number; // 0 closed to 1 taken apart
  zoom: number;
  shown: number[]; // places in the list of parts
  chosen: number; // place in the list, or -1
  webgl: boolean;
  view: View | null; // null without WebGL, as what follows
  labels: { text: string; box: Rectangle; figure: boolean }[];
  bounds: Rectangle | null; // of the parts that are shown
}

export interface PageViewer {
  /** Show another box: direction, zoom and explosion stay, and the chosen part where there is one of its title. */
  show(data: PageData): void;
  end(): void;
  state(): State;
  /** The part at a place of the stage, CSS pixels: its place in the list, or -1. */
  partAt(x: number, y: number): number;
}

/** Bring a page to life. The elements of `root` and the form of `data` are those that viewer/page writes. */
export function mount(root: ParentNode & EventTarget, data: PageData): PageViewer {
  return new Viewer(root, data);
}

class Viewer implements PageViewer, Hands {
  private readonly stop = new AbortController();
  private readonly drawing: Drawing | null;
  private readonly unticked = new Set<number>();
  private readonly looking: Look;
  private subject: Subject;
  private box = 0;
  private step = 0;
  private explode: number;
  private chosen = -1;
  private frame = 0; // that is asked for; 0 for none
  private dragging = false;

  constructor(private readonly root: ParentNode & EventTarget, private data: PageData) {
    const canvas = root.querySelector<HTMLCanvasElement>("#view");
    const labels = root.querySelector<HTMLElement>("#labels");
    const leaders = root.querySelector<SVGSVGElement>("#leaders");
    if (!canvas || !labels || !leaders) throw new Error("page: has no #view, #labels or #leaders");
    this.subject = boxSubject(data.boxes[0] as Box);
    this.looking = new Look(this.subject.direction);
    this.explode = Number(root.querySelector<HTMLInputElement>("#apart")?.value ?? 100) / 100;
    document.documentElement.classList.add("scripted");
    this.drawing = Drawing.on(canvas, labels, leaders, data);
    tellWebgl(root, this.drawing !== null);
    for (const part of root.querySelectorAll("#controls, #step-controls")) part.removeAttribute("hidden");
    this.listen(canvas);
    if (window.innerWidth < NARROW) root.querySelector("#looking")?.removeAttribute("open");
    this.open(addressed(data.steps.length), addressed(data.steps.length) > 0);
  }

  show(data: PageData): void {
    const title = this.listed().find((part) => part.part === this.chosen)?.title;
    this.data = data;
    this.box = Math.min(this.box, data.boxes.length - 1);
    this.unticked.clear();
    this.drawing?.feed(data);
    this.chosen = this.listed().find((part) => part.title === title)?.part ?? -1;
    this.open(Math.min(this.step, data.steps.length), false, true);
  }

  end(): void {
    this.stop.abort();
    cancelAnimationFrame(this.frame);
    this.drawing?.end();
  }

  state(): State {
    const { step, box, explode, chosen, drawing } = this;
    const webgl = drawing?.ready ?? false;
    if (webgl && this.frame) this.drawNow(); // what was drawn at the last frame is as it was asked for
    const view = webgl ? this.seen().view : null;
    const shown = this.subject.parts.map((part) => part.part).filter((part) => this.shows(part));
    const extent = view && drawing?.extent(view.direction, this.apart(), (part) => this.shows(part.part));
    return {
      step, box, explode, chosen, webgl, view, shown,
      direction: this.looking.direction, zoom: this.looking.zoom.times,
      labels: drawing?.labels ?? [],
      bounds: view && extent ? boundsIn(view, extent) : null,
    };
  }

  partAt(x: number, y: number): number {
    return this.foundAt([x, y]).part;
  }

  turn(round: number, up: number, smoothly: boolean): void {
    this.looking.turn(round, up, smoothly);
    this.ask();
  }

  look(from: Direction | null): void {
    this.looking.zoom = UNZOOMED;
    this.looking.turnTo(from ?? this.subject.direction, true);
    this.ask();
  }

  zoom(by: number, at: Point | null): void {
    if (this.drawing?.ready) this.looking.zoomBy(by, at, this.drawing.fit(this.apart()));
    this.ask();
  }

  drag(by: Point): void {
    if (this.drawing?.ready) this.looking.dragBy(by, this.drawing.fit(this.apart()));
    this.ask();
  }

  tap(at: Point): void {
    const { part, joint } = this.foundAt(at);
    this.choose(part, joint);
  }

  moving(now: boolean): void {
    this.dragging = now;
    this.ask();
  }

  /** Show a step, or the box for 0; `keep` keeps direction and zoom. */
  private open(step: number, follow: boolean, keep = false): void {
    const changes = step !== this.step;
    this.step = step;
    const one = this.data.steps[step - 1];
    this.subject = one ? stepSubject(one) : boxSubject(this.data.boxes[this.box] as Box);
    if (changes && !keep) {
      this.looking.turnTo(this.subject.direction, false);
      this.looking.zoom = UNZOOMED;
    }
    if (!this.subject.parts.some((part) => part.part === this.chosen)) this.chosen = -1;
    this.drawing?.show(this.subject);
    tell(this.root, this.told(), follow);
    this.ask();
  }

  private go(step: number): void {
    if (step < 0 || step > this.data.steps.length || (step === 0 && this.step === 0)) return;
    this.open(step, true);
    const words = step ? `Step ${step}: ${sentence(this.root, step)}` : titleOf(this.root, this.told());
    say(this.root, words);
  }

  /** Show every part; or all but the lid and what is on it, which rise when the box is taken apart. */
  private lift(off: boolean): void {
    this.unticked.clear();
    if (off) for (const part of this.listed()) if (part.away[2] > 0) this.unticked.add(part.part);
    if (this.step) this.go(0);
    setTicks(this.root, (one) => this.shows(one), false);
    say(this.root, off ? "The lid is off, with all that is on it" : "Every part is shown");
    this.ask();
  }

  private choose(part: number, joint = -1): void {
    this.chosen = part;
    setChosen(this.root, part);
    const fit = this.subject.joints[joint];
    const words = [wordsOf(this.root, part), ...(fit ? [`${fit.name}: ${fit.words}`] : [])];
    say(this.root, part < 0 ? "Nothing chosen" : words.join("; "));
    this.ask();
  }

  private listen(canvas: HTMLCanvasElement): void {
    const { signal } = this.stop;
    handle(canvas, this, signal);
    explainTerms(this.root, signal);
    keepTicks(this.root, this.data.key, signal);
    this.root.addEventListener("click", (event) => this.clicked(event), { signal });
    this.root.addEventListener("input", (event) => this.set(event.target as HTMLInputElement), { signal });
    addEventListener("hashchange", () => {
      const step = addressed(this.data.steps.length);
      if (step && step !== this.step) this.go(step);
    }, { signal });
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault(); // else it is never restored
      this.works(false);
    }, { signal });
    canvas.addEventListener("webglcontextrestored", () => this.works(true), { signal });
    const watch = new ResizeObserver(() => this.ask());
    watch.observe(canvas);
    const area = this.root.querySelector<HTMLElement>("#stage-area");
    // What is scrolled to must clear the stage, which stays in sight on narrow screens.
    const clear = new ResizeObserver(() => {
      document.documentElement.style.setProperty("--stage", `${area?.offsetHeight ?? 0}px`);
    });
    if (area) clear.observe(area);
    signal.addEventListener("abort", () => clear.disconnect());
    signal.addEventListener("abort", () => watch.disconnect());
  }

  private works(webgl: boolean): void {
    tellWebgl(this.root, webgl);
    tellStill(this.root, this.step);
    if (webgl) this.drawing?.show(this.subject);
    else this.drawing?.drop();
    this.ask();
  }

  private clicked(event: Event): void {
    const target = event.target as Element;
    const step = askedStep(target);
    if (step !== null) {
      event.preventDefault();
      this.go(step);
    }
    const id = target.closest("button")?.id ?? "";
    BUTTONS[id]?.(this);
    if (id === "show-box") this.go(0);
    if (id === "show-all" || id === "lid-off") this.lift(id === "lid-off");
    if (id === "previous") this.go(this.step - 1);
    if (id === "next") this.go(this.step + 1);
    const entry = target.closest("button.part")?.closest<HTMLElement>("[data-part]");
    if (!entry) return;
    const part = Number(entry.dataset["part"]);
    this.choose(part === this.chosen ? -1 : part);
  }

  private set(input: HTMLInputElement): void {
    if (input.id === "apart") {
      this.explode = Number(input.value) / 100;
      entitle(this.root, this.told());
    } else if (input.name === "box") {
      this.box = Number(input.value);
      this.open(0, false, this.step === 0);
      say(this.root, titleOf(this.root, this.told()));
    } else if (input.matches("#parts input.shown")) {
      const part = Number(input.closest<HTMLElement>("[data-part]")?.dataset["part"]);
      if (input.checked) this.unticked.delete(part);
      else this.unticked.add(part);
      setTicks(this.root, (one) => this.shows(one), false);
    }
    this.ask();
  }

  private ask(): void {
    if (!this.frame && this.drawing) this.frame = requestAnimationFrame((now) => this.draw(now));
  }

  private drawNow(): void {
    cancelAnimationFrame(this.frame);
    this.draw(performance.now());
  }

  private draw(now: number): void {
    this.frame = 0;
    if (!this.drawing?.ready) return;
    this.looking.follow(now);
    const { turning, zoom } = this.looking;
    this.drawing.draw(this.seen(), !this.dragging && !turning && zoom.times === 1);
    if (turning) this.ask();
  }

  private seen(): Frame {
    const drawing = this.drawing as Drawing;
    const { parts } = this.subject;
    const view = this.looking.view(drawing.fit(this.apart()));
    const { low, high } = drawing.extent(view.direction, this.apart());
    return {
      view,
      explode: this.apart(),
      hidden: new Set([...parts.keys()].filter((i) => !this.shows((parts[i] as Part).part))),
      chosen: parts.findIndex((part) => part.part === this.chosen),
      deep: high[2] - low[2] + 10,
    };
  }

  private foundAt(at: Point): { part: number; joint: number } {
    if (!this.drawing?.ready) return { part: -1, joint: -1 };
    const { part, joint } = this.drawing.foundAt(this.seen(), at);
    return { part: this.subject.parts[part]?.part ?? -1, joint };
  }

  private told(): Told {
    const { data, subject, box, step, explode, chosen } = this;
    return { data, subject, box, step, explode, chosen, shows: (part) => this.shows(part) };
  }

  private apart(): number {
    return this.step ? 0 : this.explode;
  }

  private listed(): Part[] {
    return this.data.boxes[this.box]?.parts ?? [];
  }

  private shows(part: number): boolean {
    return this.step ? this.subject.parts.some((one) => one.part === part) : !this.unticked.has(part);
  }
}
