// From where the subject is looked at, how near, and the turn that is going on.

import { allowed, draggedBy, fitted, UNZOOMED, zoomed, zoomedAt } from "./camera";
import type { Direction, Extent, Point, Rectangle, View, Zoom } from "./camera";

const SMOOTH = 240; // ms that a turn takes

export const still = (): boolean => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** The stage as a view is fitted to it. */
export interface Fit {
  extent: (direction: Direction) => Extent;
  size: Point;
  room: Rectangle;
}

export class Look {
  direction: Direction;
  zoom: Zoom = UNZOOMED;
  private from: Direction; // where the turn that is going on started
  private to: Direction;
  private since = 0; // ms; 0 where none is going on

  constructor(usual: Direction) {
    this.direction = this.from = this.to = allowed(usual);
  }

  get turning(): boolean {
    return this.since > 0;
  }

  /** Go round to the right and up, degrees; smoothly from where a turn that is going on ends. */
  turn(round: number, up: number, smoothly: boolean): void {
    const from = smoothly ? this.to : this.direction;
    this.turnTo([from[0] + round, from[1] + up], smoothly);
  }

  turnTo(direction: Direction, smoothly: boolean): void {
    this.from = this.direction;
    this.to = allowed(direction);
    this.since = smoothly && !still() ? performance.now() : 0;
    if (!this.since) this.direction = this.to;
  }

  /** Bring the direction to where the turn that is going on has come, the shorter way round. */
  follow(now: number): void {
    if (!this.since) return;
    const share = Math.min(1, Math.max(0, (now - this.since) / SMOOTH));
    const eased = share * (2 - share);
    const [round] = allowed([this.to[0] - this.from[0], 0]);
    const up = this.to[1] - this.from[1];
    this.direction = share < 1 ? allowed([this.from[0] + eased * round, this.from[1] + eased * up]) : this.to;
    if (share === 1) this.since = 0;
  }

  /** The view that fits without any zoom. */
  whole({ extent, size, room }: Fit): View {
    return fitted(extent(this.direction), this.direction, size, room);
  }

  view(fit: Fit): View {
    return zoomed(this.whole(fit), this.zoom);
  }

  zoomBy(by: number, at: Point | null, fit: Fit): void {
    this.zoom = zoomedAt(this.zoom, by, at ?? [fit.size[0] / 2, fit.size[1] / 2], this.whole(fit));
  }

  dragBy(by: Point, fit: Fit): void {
    this.zoom = draggedBy(this.zoom, by, this.whole(fit));
  }
}
