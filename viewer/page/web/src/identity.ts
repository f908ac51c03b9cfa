// Which part or patch is seen at a place, and where in what is seen of each a label's leader may end.
//
// mark : the number of what is seen at a pixel: 0 nothing, then the parts, then the patches of all joints, in the
//        subject's order

import { NearestFilter, WebGLRenderTarget } from "three";
import { added, axesOf } from "./camera";
import type { Point, View } from "./camera";
import { markOf } from "./picture";
import type { Frame, Picture } from "./picture";

const MOST = 400; // pixels of the small picture of marks, across or down

/** Marks of all pixels of a small picture, row by row from the top. */
export interface Marks {
  width: number;
  height: number;
  at: Uint16Array;
  step: number; // CSS pixels to one of its pixels
}

/** Where a leader may end, the best place first: CSS pixels, with the distance to the nearest edge of what is seen. */
export interface Place {
  at: Point;
  inside: number;
}

export class Identity {
  private readonly target = new WebGLRenderTarget(1, 1, { minFilter: NearestFilter, magFilter: NearestFilter });

  constructor(private readonly picture: Picture) {}

  /** The mark at a place of the stage: a picture of one pixel about it. */
  at(frame: Frame, [x, y]: Point): number {
    const { view } = frame;
    const { right, up } = axesOf(view.direction);
    const off = [(x - view.size[0] / 2) / view.scale, (view.size[1] / 2 - y) / view.scale] as const;
    const focus = added(added(view.focus, right, off[0]), up, off[1]);
    return markOf(this.picture.marks({ ...frame, view: { ...view, focus, size: [1, 1] } }, this.target), 0);
  }

  marks(frame: Frame): Marks {
    const { size } = frame.view;
    const step = Math.max(1, Math.ceil(Math.max(...size) / MOST));
    const [width, height] = [Math.floor(size[0] / step), Math.floor(size[1] / step)];
    const bytes = this.picture.marks({ ...frame, view: reduced(frame.view, step, [width, height]) }, this.target);
    const at = new Uint16Array(width * height);
    for (let i = 0; i < at.length; i++) {
      const row = height - 1 - Math.floor(i / width); // WebGL's rows go up
      at[i] = markOf(bytes, row * width + (i % width));
    }
    return { width, height, at, step };
  }

  end(): void {
    this.target.dispose();
  }
}

/** A view with one pixel for `step` by `step`, from the same upper left corner; a rest at the ends is left out. */
function reduced(view: View, step: number, size: Point): View {
  const { right, up } = axesOf(view.direction);
  const rest = [size[0] * step - view.size[0], view.size[1] - size[1] * step] as const;
  const focus = added(added(view.focus, right, rest[0] / 2 / view.scale), up, rest[1] / 2 / view.scale);
  return { ...view, focus, scale: view.scale / step, size };
}

const CELLS = 3; // each way, of the bounds of what is seen; the best place of each is offered
const ENOUGH = 0.5; // of the best place's distance to the edge

/** The places for leaders of each mark that is seen. */
export function placesOf(marks: Marks): Map<number, Place[]> {
  const inside = distances(marks);
  const found = new Map<number, Place[]>();
  for (const [mark, bounds] of boundsOf(marks)) {
    const best = new Map<number, number>(); // cell to pixel
    const [left, top, right, bottom] = bounds;
    for (let y = top; y <= bottom; y++) {
      for (let x = left; x <= right; x++) {
        const pixel = y * marks.width + x;
        if (marks.at[pixel] !== mark) continue;
        const cell = cellOf(x, left, right) + CELLS * cellOf(y, top, bottom);
        const before = best.get(cell);
        if (before === undefined || (inside[pixel] as number) > (inside[before] as number)) best.set(cell, pixel);
      }
    }
    const places = [...best.values()].map((pixel) => placeAt(marks, inside, pixel));
    const most = Math.max(...places.map((place) => place.inside));
    found.set(mark, places.filter((place) => place.inside >= ENOUGH * most).sort((a, b) => b.inside - a.inside));
  }
  return found;
}

const cellOf = (at: number, low: number, high: number): number => Math.floor((CELLS * (at - low)) / (high - low + 1));

function placeAt({ width, step }: Marks, inside: Float32Array, pixel: number): Place {
  const at = [((pixel % width) + 0.5) * step, (Math.floor(pixel / width) + 0.5) * step] as const;
  return { at, inside: (inside[pixel] as number) * step };
}

function boundsOf({ width, at }: Marks): Map<number, [number, number, number, number]> {
  const found = new Map<number, [number, number, number, number]>();
  at.forEach((mark, pixel) => {
    if (!mark) return;
    const x = pixel % width;
    const y = Math.floor(pixel / width);
    const bounds = found.get(mark);
    if (!bounds) {
      found.set(mark, [x, y, x, y]);
      return;
    }
    bounds[0] = Math.min(bounds[0], x);
    bounds[2] = Math.max(bounds[2], x);
    bounds[3] = y;
  });
  return found;
}

const [RIGHT, DOWN, COST] = [[-1, 0, -1, 1], [0, -1, -1, -1], [3, 3, 4, 4]] as const; // to neighbours visited before

/**
 * How far each pixel with a mark is from the nearest one of another or the edge of the picture, pixels: a chamfer
 * distance, 3 for a step and 4 for a diagonal one, in thirds.
 * Source: Borgefors, Distance transformations in digital images, Computer Vision, Graphics, and Image Processing 34
 * (1986), 344-371; from memory.
 */
export function distances({ width, height, at }: Marks): Float32Array {
  const far = new Float32Array(at.length);
  const visit = (pixel: number, x: number, y: number, way: 1 | -1): number => {
    if (!at[pixel]) return 0; // no label points at nothing
    let least = Infinity;
    for (let k = 0; k < COST.length; k++) {
      const nx = x + way * (RIGHT[k] as number);
      const ny = y + way * (DOWN[k] as number);
      const next = ny * width + nx;
      const same = nx >= 0 && ny >= 0 && nx < width && ny < height && at[next] === at[pixel];
      least = Math.min(least, (COST[k] as number) + (same ? (far[next] as number) : 0));
    }
    return least;
  };
  for (let pixel = 0; pixel < at.length; pixel++) {
    far[pixel] = visit(pixel, pixel % width, Math.floor(pixel / width), 1);
  }
  for (let pixel = at.length - 1; pixel >= 0; pixel--) {
    far[pixel] = Math.min(far[pixel] as number, visit(pixel, pixel % width, Math.floor(pixel / width), -1));
  }
  return far.map((value) => value / 3);
}
