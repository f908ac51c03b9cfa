// The stage: the drawing on its canvas, with labels and dimensions over it.

import { axesOf, nothing, widen } from "./camera";
import type { Direction, Extent, Point } from "./camera";
import { Arrays } from "./data";
import type { PageData, Part, Subject } from "./data";
import { Identity, placesOf } from "./identity";
import type { Fit } from "./look";
import { Overlay } from "./overlay";
import type { Room } from "./overlay";
import { Picture } from "./picture";
import type { Frame } from "./picture";

/** What is seen at a place: indices into the subject's parts and joints, -1 for none. */
export interface Found {
  part: number;
  joint: number;
}

export class Drawing {
  private readonly identity: Identity;
  private subject: Subject | null = null;
  private laidOut: { size: Point; room: Room } | null = null; // labels are made anew for another size or subject

  private constructor(
    private readonly canvas: HTMLElement,
    private readonly picture: Picture,
    private readonly overlay: Overlay,
    private arrays: Arrays,
  ) {
    this.identity = new Identity(picture);
  }

  /** A drawing on a canvas; null where the browser gives no WebGL. */
  static on(canvas: HTMLCanvasElement, labels: HTMLElement, leaders: SVGSVGElement, data: PageData): Drawing | null {
    if (!canvas.getContext("webgl2", { antialias: true, alpha: true })) return null;
    const arrays = new Arrays(data);
    return new Drawing(canvas, new Picture(canvas, arrays, data), new Overlay(labels, leaders, data.tints), arrays);
  }

  feed(data: PageData): void {
    this.arrays = new Arrays(data);
    this.picture.feed(this.arrays, data);
    this.overlay.feed(data.tints);
  }

  show(subject: Subject): void {
    this.subject = subject;
    this.laidOut = null;
    this.picture.show(subject);
  }

  get ready(): boolean {
    return this.size.every((side) => side > 0) && !this.picture.lost;
  }

  get labels(): Overlay["boxes"] {
    return this.overlay.boxes;
  }

  draw(frame: Frame, labelled: boolean): void {
    this.picture.draw(frame);
    if (labelled) this.overlay.place(placesOf(this.identity.marks(frame)), frame.view, this.room());
    else this.overlay.figuresAlone(frame.view);
  }

  foundAt(frame: Frame, at: Point): Found {
    const { parts, joints } = this.subject ?? { parts: [], joints: [] };
    const mark = this.identity.at(frame, at);
    if (mark <= parts.length) return { part: mark - 1, joint: -1 };
    const patches = joints.flatMap((joint, index) => joint.patches.map(({ part }) => ({ part, joint: index })));
    return patches[mark - parts.length - 1] ?? { part: -1, joint: -1 };
  }

  /** What the parts for which `counts` holds reach, with all that is only laid on them. */
  extent(direction: Direction, explode: number, counts: (part: Part) => boolean = () => true): Extent {
    const [found, axes] = [nothing(), axesOf(direction)];
    for (const part of this.subject?.parts ?? []) {
      if (!counts(part)) continue;
      const [x, y, z] = part.away;
      widen(found, this.arrays.surface(part.mesh).points, axes, [explode * x, explode * y, explode * z]);
    }
    for (const lines of this.subject?.ghosts ?? []) widen(found, this.arrays.ends(lines), axes);
    return found;
  }

  fit(explode: number): Fit {
    return { extent: (direction) => this.extent(direction, explode), size: this.size, room: this.room().drawing };
  }

  /** Let go of what a lost context held; the next `show` makes it anew. */
  drop(): void {
    this.identity.end();
    this.picture.drop();
  }

  end(): void {
    this.identity.end();
    this.picture.end();
  }

  private get size(): Point {
    return [this.canvas.clientWidth, this.canvas.clientHeight];
  }

  private room(): Room {
    const { size } = this;
    if (this.laidOut?.size.join() !== size.join()) {
      this.laidOut = { size, room: this.overlay.prepare(this.subject as Subject, size) };
    }
    return (this.laidOut as { room: Room }).room;
  }
}
