// Where labels stand: two columns beside the drawing, on leader lines, none over another; as viewer/picture/labels.py.
//
// anchor : the place in the drawing that a label speaks of
// port   : where a label's leader line starts, in the middle of its height at the inner edge of its column
// leader : the straight line from port to anchor
//
// CSS pixels, x to the right and y down. Nothing is drawn here.

import { held } from "./camera";
import type { Point } from "./camera";

/** The room for labels: between `top` and `bottom`, outward of `left` and of `right`, `gap` apart. */
export interface Columns {
  left: number; // inner edge of the left column
  right: number; // inner edge of the right column
  top: number;
  bottom: number;
  gap: number;
}

export interface Layout {
  onRight: boolean[]; // in the right column, else in the left
  middles: number[]; // y of each label's middle
  ports: Point[];
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
const at = <T>(list: readonly T[], index: number): T => list[index] as T;

const fits = (heights: readonly number[], { top, bottom, gap }: Columns): boolean =>
  sum(heights) + gap * Math.max(0, heights.length - 1) <= bottom - top + 1e-9;

/** A layout in which no two labels overlap and none leaves its column; null where the labels are too high for that. */
export function layOut(anchors: readonly Point[], heights: readonly number[], columns: Columns): Layout | null {
  const onRight = sides(anchors, heights, columns);
  if (!onRight) return null;
  const middles = new Array<number>(anchors.length).fill(0);
  for (const side of [false, true]) {
    const chosen = [...anchors.keys()].filter((i) => onRight[i] === side);
    const x = side ? columns.right : columns.left;
    const found = column(chosen.map((i) => at(anchors, i)), chosen.map((i) => at(heights, i)), x, columns);
    chosen.forEach((i, k) => (middles[i] = at(found, k)));
  }
  const ports = middles.map((y, i) => [onRight[i] ? columns.right : columns.left, y] as const);
  return { onRight, middles, ports };
}

/** Which labels go to the right: the split by x that fills both columns most nearly alike, if they fit. */
function sides(anchors: readonly Point[], heights: readonly number[], columns: Columns): boolean[] | null {
  const further = (a: Point, b: Point) => a[0] - b[0] || a[1] - b[1];
  const order = [...anchors.keys()].sort((i, j) => further(at(anchors, i), at(anchors, j)));
  const sorted = order.map((i) => at(heights, i));
  const taken = (some: readonly number[]) => sum(some) + columns.gap * some.length;
  const unlike = (count: number) => Math.abs(taken(sorted.slice(0, count)) - taken(sorted.slice(count)));
  const splits = [...Array(sorted.length + 1).keys()].sort((a, b) => unlike(a) - unlike(b) || a - b);
  const count = splits.find((n) => fits(sorted.slice(0, n), columns) && fits(sorted.slice(n), columns));
  if (count === undefined) return null;
  const onRight = new Array<boolean>(anchors.length).fill(true);
  order.slice(0, count).forEach((i) => (onRight[i] = false));
  return onRight;
}

/** The middles of one column's labels; ports at `x`. Labels whose leaders cross are exchanged until none cross. */
function column(anchors: readonly Point[], heights: readonly number[], x: number, columns: Columns): number[] {
  const order = [...anchors.keys()].sort((i, j) => at(anchors, i)[1] - at(anchors, j)[1]);
  const middles = new Array<number>(anchors.length).fill(0);
  for (let turn = 0; turn <= anchors.length ** 2; turn++) {
    const placed = spread(order.map((i) => at(anchors, i)[1]), order.map((i) => at(heights, i)), columns);
    order.forEach((i, k) => (middles[i] = at(placed, k)));
    const crossing = firstCrossing(order.map((i) => [x, at(middles, i)] as const), order.map((i) => at(anchors, i)));
    if (!crossing) break;
    const [one, two] = crossing;
    [order[one], order[two]] = [at(order, two), at(order, one)];
  }
  return middles;
}

/**
 * The middles nearest to `wanted` of labels that keep their order, their gap and the column: a bounded isotonic
 * regression of the distances to the labels above.
 * Source: Robertson, Wright and Dykstra, Order Restricted Statistical Inference (1988), 1.2 and 1.4.
 */
export function spread(wanted: readonly number[], heights: readonly number[], columns: Columns): number[] {
  if (!heights.length) return [];
  const below: number[] = [0]; // how far each middle is below the first at least
  for (let i = 1; i < heights.length; i++) {
    below.push(at(below, i - 1) + (at(heights, i) + at(heights, i - 1)) / 2 + columns.gap);
  }
  const first = columns.top + at(heights, 0) / 2;
  const last = columns.bottom - at(heights, heights.length - 1) / 2 - at(below, below.length - 1);
  const best = pooled(wanted.map((value, i) => value - at(below, i)));
  return best.map((value, i) => held(value, first, Math.max(first, last)) + at(below, i));
}

/** The nearest values that never fall: each the mean of the pool it is in. */
function pooled(values: readonly number[]): number[] {
  const pools: [total: number, count: number][] = [];
  for (const value of values) {
    let [total, count] = [value, 1];
    for (let last = pools.pop(); last; last = pools.pop()) {
      if (last[0] * count < total * last[1]) {
        pools.push(last);
        break;
      }
      [total, count] = [total + last[0], count + last[1]];
    }
    pools.push([total, count]);
  }
  return pools.flatMap(([total, count]) => new Array<number>(count).fill(total / count));
}

function firstCrossing(ports: readonly Point[], anchors: readonly Point[]): [number, number] | null {
  for (let i = 0; i < ports.length; i++) {
    for (let j = i + 1; j < ports.length; j++) {
      if (cross(at(ports, i), at(anchors, i), at(ports, j), at(anchors, j))) return [i, j];
    }
  }
  return null;
}

/** Whether two lines cross; touching ends do not count. */
export function cross(a: Point, b: Point, c: Point, d: Point): boolean {
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

const turn = (a: Point, b: Point, c: Point): number => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

export interface Arranged {
  anchors: Point[];
  layout: Layout;
}

const ROUNDS = 3;

/**
 * A layout with its leaders' ends chosen from `places`, the best liked first, so that leaders keep `clear` pixels from
 * the ends of others and are short, as far as that was found; null where the labels are too high.
 */
export function arranged(
  places: readonly (readonly Point[])[], heights: readonly number[], columns: Columns, clear: number,
): Arranged | null {
  let anchors = places.map((some) => at(some, 0));
  let layout = layOut(anchors, heights, columns);
  if (!layout) return null;
  let least = disliked(layout, anchors, columns, clear);
  for (let round = 0, before = Infinity; round < ROUNDS && least < before; round++) {
    before = least;
    for (let i = 0; i < places.length; i++) {
      for (const place of at(places, i)) {
        const other = anchors.map((anchor, k) => (k === i ? place : anchor));
        const tried = layOut(other, heights, columns);
        const now = tried ? disliked(tried, other, columns, clear) : Infinity;
        if (tried && now < least - 1e-9) [anchors, layout, least] = [other, tried, now];
      }
    }
  }
  return { anchors, layout };
}

const LONG = 0.25; // of a leader as long as the stage is wide between its columns; a crossing is 1

/** How much is disliked of a layout: what is wrong between labels, and the length of leaders. */
function disliked(layout: Layout, anchors: readonly Point[], { left, right }: Columns, clear: number): number {
  const long = sum(anchors.map(([x, y], i) => Math.hypot(at(layout.ports, i)[0] - x, at(layout.ports, i)[1] - y)));
  return strain(layout, anchors, clear) + (LONG * long) / Math.max(1, right - left);
}

/** How much is wrong between labels: 0 where no leaders cross and none comes near another's end. */
export function strain(layout: Layout, anchors: readonly Point[], clear: number): number {
  let found = 0;
  anchors.forEach((anchor, i) => {
    anchors.forEach((other, j) => {
      if (i === j) return;
      const port = at(layout.ports, j);
      found += Math.max(0, 1 - distance(anchor, port, other) / clear);
      if (cross(at(layout.ports, i), anchor, port, other)) found += 1;
    });
  });
  return found;
}

/** How far a point is from a line between two points. */
export function distance(point: Point, a: Point, b: Point): number {
  const [rx, ry] = [b[0] - a[0], b[1] - a[1]];
  const share = held(((point[0] - a[0]) * rx + (point[1] - a[1]) * ry) / Math.max(rx * rx + ry * ry, 1e-9), 0, 1);
  return Math.hypot(a[0] + share * rx - point[0], a[1] + share * ry - point[1]);
}
