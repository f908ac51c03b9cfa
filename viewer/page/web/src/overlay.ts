// Labels, leaders, numbers and dimensions over the drawing, as elements of the page.
//
// note : what one label says and whom it may point at

import { held } from "./camera";
import type { Point, Rectangle, View } from "./camera";
import type { PageData, Subject } from "./data";
import type { Place } from "./identity";
import { arranged } from "./labels";
import type { Arranged, Columns } from "./labels";
import { drawnHoles, drawnMeasures, heads } from "./measures";
import type { Segment } from "./measures";

const NARROW = 600; // CSS pixels; on a narrower stage numbers stand for labels
const WIDEST = 0.26; // of the stage; a label's share
const LEADER = 16; // pixels; least room between a column and the drawing
const GAP = 5; // pixels between labels
const EDGE = 6; // pixels between labels and the stage's edge
const BESIDE = 2.8; // ems about a drawing that has dimensions
const DOT = 2.5; // pixels; radius of a leader's end
const CLEAR = 7; // pixels that leaders keep from other leaders' ends
const SVG = "http://www.w3.org/2000/svg";

export interface Note {
  marks: number[]; // of the parts or of the joint that it may point at
  lines: string[];
  number: boolean;
  worst: boolean;
}

/**
 * The notes of a subject: one for each kind of part, which may point at any part with the same label, or one for each
 * part's number; and one for the worst joint.
 */
export function notesOf({ parts, joints }: Subject, numbers: boolean): Note[] {
  const found = new Map<string, Note>();
  parts.forEach((part, i) => {
    if (!numbers && !part.label.length) return;
    const key = numbers ? String(i) : part.kind;
    const lines = numbers ? [String(part.part + 1)] : part.label.map(unbroken);
    const note = found.get(key) ?? { marks: [], lines, number: numbers, worst: false };
    const named = note.lines.join() === lines.join(); // a label never points at what it does not name
    if (named) note.marks.push(i + 1);
    found.set(key, note);
  });
  const worst = joints.findIndex((joint) => joint.worst);
  const joint = joints[worst];
  if (joint && !numbers) {
    const first = parts.length + 1 + joints.slice(0, worst).reduce((count, one) => count + one.patches.length, 0);
    const marks = joint.patches.map((_, i) => first + i);
    found.set("worst joint", { marks, lines: [joint.name, joint.words], number: false, worst: true });
  }
  return [...found.values()];
}

interface Shown {
  note: Note;
  element: HTMLElement;
  size: Point;
}

/** The room that labels leave for a drawing. */
export interface Room {
  drawing: Rectangle;
  columns: Columns;
}

export class Overlay {
  private notes: Shown[] = [];
  private figures: { element: HTMLElement; size: Point }[] = [];
  private subject: Subject | null = null;
  private narrow = false;
  private em = 16;
  /** Boxes of what is shown, with their text; CSS pixels of the stage. */
  boxes: { text: string; box: Rectangle; figure: boolean }[] = [];

  constructor(
    private readonly labels: HTMLElement,
    private readonly leaders: SVGSVGElement,
    private tints: PageData["tints"],
  ) {}

  feed(tints: PageData["tints"]): void {
    this.tints = tints;
  }

  /** Make the elements of a subject for a stage of this size, and return the room that is left for the drawing. */
  prepare(subject: Subject, size: Point): Room {
    this.narrow = size[0] < NARROW;
    this.subject = subject;
    this.labels.replaceChildren();
    this.notes = notesOf(subject, this.narrow).map((note) => this.measured(note, size));
    if (!this.narrow && !fitsTwo(this.notes, size)) {
      this.labels.replaceChildren();
      this.notes = notesOf(subject, true).map((note) => this.measured(note, size));
    }
    this.figures = [...subject.measures, ...subject.holes].map(({ text }) => {
      const element = this.element("figure", [text]);
      return { element, size: sizeOf(element) };
    });
    const letters = this.figures[0]?.element ?? this.labels;
    this.em = parseFloat(getComputedStyle(letters).fontSize) || 16;
    return this.room(size, this.figures.length > 0);
  }

  private room([width, height]: Point, dimensions: boolean): Room {
    const wide = Math.max(0, ...this.notes.map((note) => note.size[0]));
    const [left, right] = [EDGE + wide, width - EDGE - wide];
    const aside = dimensions ? Math.min(BESIDE * this.em, width / 12) : LEADER;
    const above = dimensions ? Math.min(BESIDE * this.em, height / 8) : EDGE + DOT;
    const columns = { left, right, top: EDGE, bottom: height - EDGE, gap: GAP };
    return { drawing: [left + aside, above, right - aside, height - above], columns };
  }

  /** Put labels and dimensions where they belong in a view; `places` are those that leaders of each mark may end at. */
  place(places: ReadonlyMap<number, readonly Place[]>, view: View, { columns }: Room): void {
    const shown = this.notes.filter((one) => one.note.marks.some((mark) => places.has(mark)));
    const ends = shown.map((one) => placesFor(one.note, places));
    const found = arranged(ends, shown.map((one) => one.size[1]), columns, CLEAR);
    this.clear(view.size);
    if (found) this.drawLabels(shown, found, columns);
    this.drawMeasures(view, found?.layout.ports.map((port, i) => [port, found.anchors[i] as Point] as const) ?? []);
  }

  /** Put labels away, and dimensions where they belong: of what is enlarged or moving. */
  figuresAlone(view: View): void {
    this.clear(view.size);
    this.drawMeasures(view, []);
  }

  /** Put everything away. */
  clear(size: Point): void {
    this.boxes = [];
    this.leaders.replaceChildren();
    this.leaders.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
    for (const { element } of [...this.notes, ...this.figures]) element.style.visibility = "hidden";
  }

  private drawLabels(shown: Shown[], { anchors, layout }: Arranged, columns: Columns): void {
    shown.forEach(({ element, size, note }, i) => {
      const right = layout.onRight[i] as boolean;
      const [left, top] = [right ? columns.right : columns.left - size[0], (layout.middles[i] as number) - size[1] / 2];
      element.style.textAlign = right ? "left" : "right"; // next to its leader
      this.put(element, [left, top, left + size[0], top + size[1]], note.lines.join(" "), false);
      const [port, anchor] = [layout.ports[i] as Point, anchors[i] as Point];
      this.line([port, anchor], this.tints.paper, 3.2);
      this.line([port, anchor], this.tints.quiet, 1.1);
    });
    for (const [x, y] of anchors) {
      this.draw("circle", { cx: x, cy: y, r: DOT, fill: this.tints.text, stroke: this.tints.paper, "stroke-width": 1 });
    }
  }

  private drawMeasures(view: View, leaders: readonly Segment[]): void {
    const measures = this.subject?.measures ?? [];
    const taken = { room: [0, 0, ...view.size] as const, boxes: this.boxes.map((one) => one.box), leaders };
    const found = drawnMeasures(measures, this.figures.map((one) => one.size), view, taken, this.em);
    const ink = this.tints.ink;
    for (const { index, box, line, ticks } of found) {
      for (const tick of ticks) this.line(tick, ink, 0.9);
      if (line) {
        this.line(line, ink, 1.3);
        for (const head of heads(line, this.em)) this.draw("polygon", { points: head.join(" "), fill: ink });
      }
      const measure = measures[index];
      const figure = this.figures[index];
      if (figure && measure) this.put(figure.element, box, measure.text, true);
    }
    const lines = found.flatMap((one) => (one.line ? [one.line] : []));
    this.drawHoles(view, [...leaders, ...lines]);
  }

  private drawHoles(view: View, leaders: readonly Segment[]): void {
    const holes = this.subject?.holes ?? [];
    const figures = this.figures.slice(this.subject?.measures.length ?? 0);
    const taken = { room: [0, 0, ...view.size] as const, boxes: this.boxes.map((one) => one.box), leaders };
    for (const { index, box, leader } of drawnHoles(holes, figures.map((one) => one.size), view, taken, this.em)) {
      this.line(leader, this.tints.quiet, 1.1);
      const [hole, figure] = [holes[index], figures[index]];
      if (figure && hole) this.put(figure.element, box, hole.text, true);
    }
  }

  private measured(note: Note, [width]: Point): Shown {
    const element = this.element(note.number ? "number" : "label", note.lines);
    element.classList.toggle("worst", note.worst);
    element.style.maxWidth = `${Math.floor(WIDEST * width)}px`;
    return { note, element, size: sizeOf(element) };
  }

  private element(name: string, lines: readonly string[]): HTMLElement {
    const element = document.createElement("span");
    element.className = name;
    const [first = "", ...rest] = lines;
    const more = rest.flatMap((line, i) => (i ? [document.createElement("br"), line] : [line]));
    element.append(name === "label" ? headline(first) : first, ...more);
    Object.assign(element.style, AT_ORIGIN);
    this.labels.append(element);
    return element;
  }

  private put(element: HTMLElement, box: Rectangle, text: string, figure: boolean): void {
    element.style.transform = `translate(${box[0]}px, ${box[1]}px)`;
    element.style.visibility = "visible";
    this.boxes.push({ text, box, figure });
  }

  private line([from, to]: Segment, stroke: string, width: number): void {
    this.draw("line", { x1: from[0], y1: from[1], x2: to[0], y2: to[1], stroke, "stroke-width": width });
  }

  private draw(name: string, attributes: Record<string, string | number | undefined>): void {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
    this.leaders.append(element);
  }
}

/** A line that is not broken within a size, such as 145 × 45 × 10 mm. */
const unbroken = (line: string): string => line.replace(/ × /g, "\u00a0×\u00a0").replace(/(\d) mm/g, "$1\u00a0mm");

/** Where a note's leader may end: of the parts that it names, at the one that is seen best, then at the others. */
function placesFor(note: Note, places: ReadonlyMap<number, readonly Place[]>): Point[] {
  const found = note.marks.map((mark) => places.get(mark) ?? []).filter((some) => some.length);
  found.sort((a, b) => (b[0] as Place).inside - (a[0] as Place).inside);
  return found.flat().map((place) => place.at);
}

/** Whether labels fit into two columns whichever of them go to the left. */
function fitsTwo(notes: readonly Shown[], [, height]: Point): boolean {
  const all = notes.reduce((sum, note) => sum + note.size[1] + GAP, 0);
  const most = Math.max(0, ...notes.map((note) => note.size[1]));
  return (all + most) / 2 <= held(height - 2 * EDGE, 0, Infinity);
}

/** Where an element is measured, before it is put where it belongs. */
const AT_ORIGIN = {
  position: "absolute", left: "0", top: "0", width: "max-content", visibility: "hidden",
  whiteSpace: "normal", textWrap: "balance",
};

function headline(text: string): HTMLElement {
  const element = document.createElement("b");
  element.style.display = "block";
  element.textContent = text;
  return element;
}

const sizeOf = (element: HTMLElement): Point => [Math.ceil(element.offsetWidth), Math.ceil(element.offsetHeight)];
