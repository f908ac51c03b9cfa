// The view: from which side, at what scale, and where on the stage; the same sums as viewer/scene/camera.py.
//
// A parallel projection. x right, y back, z up in millimetres; on the stage CSS pixels, x to the right and y down.

import type { V3 } from "./data";

export type Direction = readonly [round: number, up: number]; // degrees round from the front to the right, and up
export type Point = readonly [x: number, y: number];
export type Rectangle = readonly [left: number, top: number, right: number, bottom: number];

export const LOWEST = -10; // degrees up
export const HIGHEST = 90;

export interface Axes {
  right: V3;
  up: V3;
  towards: V3; // to the viewer
}

export interface View {
  direction: Direction;
  focus: V3; // mm; seen at the middle of the stage
  scale: number; // pixels per mm
  size: Point;
}

export const dot = (a: V3, b: V3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const added = (a: V3, b: V3, times = 1): V3 => [a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2]];
export const held = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);

/** A direction within what is allowed; round from above -180 to 180. */
export function allowed([round, up]: Direction): Direction {
  const turned = round - 360 * Math.ceil((round - 180) / 360);
  return [turned, held(up, LOWEST, HIGHEST)];
}

export function axesOf([round, up]: Direction): Axes {
  const [a, e] = [(round * Math.PI) / 180, (up * Math.PI) / 180];
  const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
  return { right: [ca, sa, 0], up: [-sa * se, ca * se, ce], towards: [sa * ce, -ca * ce, se] };
}

/** Where a point is seen. */
export function seenAt(view: View, point: V3, axes: Axes = axesOf(view.direction)): Point {
  const moved = added(point, view.focus, -1);
  return [view.size[0] / 2 + view.scale * dot(moved, axes.right), view.size[1] / 2 - view.scale * dot(moved, axes.up)];
}

/** What points reach along the axes of a direction: lowest and highest of each, mm. */
export interface Extent {
  low: [number, number, number];
  high: [number, number, number];
}

export const nothing = (): Extent => ({ low: [Infinity, Infinity, Infinity], high: [-Infinity, -Infinity, -Infinity] });

/** Widen an extent by points (n * 3), each moved by `offset`. */
export function widen(extent: Extent, points: ArrayLike<number>, axes: Axes, offset: V3 = [0, 0, 0]): void {
  const ways = [axes.right, axes.up, axes.towards] as const;
  ways.forEach(([x, y, z], k) => {
    const shift = dot(offset, ways[k] as V3);
    for (let i = 0; i < points.length; i += 3) {
      const reach = shift + x * (points[i] as number) + y * (points[i + 1] as number) + z * (points[i + 2] as number);
      if (reach < (extent.low[k] as number)) extent.low[k] = reach;
      if (reach > (extent.high[k] as number)) extent.high[k] = reach;
    }
  });
}

/** The view at which what reaches so far just fills `room`. */
export function fitted({ low, high }: Extent, direction: Direction, size: Point, room: Rectangle): View {
  const axes = axesOf(direction);
  const scale = Math.min(
    (room[2] - room[0]) / Math.max(high[0] - low[0], 1e-6),
    (room[3] - room[1]) / Math.max(high[1] - low[1], 1e-6),
  );
  const off = [(room[0] + room[2] - size[0]) / 2 / scale, (room[1] + room[3] - size[1]) / 2 / scale] as const;
  const middle = [(low[0] + high[0]) / 2 - off[0], (low[1] + high[1]) / 2 + off[1], (low[2] + high[2]) / 2] as const;
  return { direction, focus: along(axes, middle), scale, size };
}

/** The point that lies so far along the axes. */
export function along(axes: Axes, [right, up, towards]: V3): V3 {
  return added(added(added([0, 0, 0], axes.right, right), axes.up, up), axes.towards, towards);
}

/** The rectangle of a view that holds what reaches so far. */
export function boundsIn({ direction, focus, scale, size }: View, { low, high }: Extent): Rectangle {
  const { right, up } = axesOf(direction);
  const [x, y] = [size[0] / 2 - scale * dot(focus, right), size[1] / 2 + scale * dot(focus, up)];
  return [x + scale * low[0], y - scale * high[1], x + scale * high[0], y - scale * low[1]];
}

/** How far a view is zoomed in, and by how much its middle is moved to the right and up, mm. */
export interface Zoom {
  times: number;
  moved: Point;
}

export const UNZOOMED: Zoom = { times: 1, moved: [0, 0] };
const MOST = 12;

export function zoomed(view: View, { times, moved }: Zoom): View {
  const axes = axesOf(view.direction);
  const focus = added(added(view.focus, axes.right, moved[0]), axes.up, moved[1]);
  return { ...view, focus, scale: view.scale * times };
}

/** Zoom in `by` so that what is seen at `place` stays there; `unzoomed` is the view without any zoom. */
export function zoomedAt(zoom: Zoom, by: number, place: Point, unzoomed: View): Zoom {
  const times = held(zoom.times * by, 1, MOST);
  if (times === 1) return UNZOOMED;
  const change = (1 / zoom.times - 1 / times) / unzoomed.scale; // mm per pixel from the middle
  const off = [place[0] - unzoomed.size[0] / 2, unzoomed.size[1] / 2 - place[1]] as const;
  return { times, moved: [zoom.moved[0] + change * off[0], zoom.moved[1] + change * off[1]] };
}

/** Move what is seen by so many pixels; not at all where nothing is zoomed. */
export function draggedBy(zoom: Zoom, [x, y]: Point, unzoomed: View): Zoom {
  if (zoom.times === 1) return zoom;
  const step = 1 / (zoom.times * unzoomed.scale);
  return { times: zoom.times, moved: [zoom.moved[0] - x * step, zoom.moved[1] + y * step] };
}
