// Pointer, wheel and keys on the canvas, and the buttons that do the same.

import { held } from "./camera";
import type { Direction, Point } from "./camera";

export interface Hands {
  turn(round: number, up: number, smoothly: boolean): void; // degrees that the viewer goes round to the right, and up
  zoom(by: number, at: Point | null): void; // null: at the middle
  drag(by: Point): void; // what is seen, pixels
  look(from: Direction | null): void; // null: as at first
  tap(at: Point): void;
  moving(now: boolean): void; // whether a drag is going on
}

const STILL = 5; // pixels; a pointer that moves less taps
const TURN = 0.45; // degrees to a pixel of a drag
const PRESS = 15; // degrees to a press of a key or a button
const NEARER = 1.25; // times to a press
const SLIDE = 40; // pixels to a press
const NOTCH = 1.2; // times to a notch of the wheel
const PINCHED = 4; // as much as a wheel for the same way

const KEYS: Record<string, (hands: Hands, shift: boolean) => void> = {
  ArrowLeft: (hands, shift) => (shift ? hands.drag([SLIDE, 0]) : hands.turn(-PRESS, 0, true)),
  ArrowRight: (hands, shift) => (shift ? hands.drag([-SLIDE, 0]) : hands.turn(PRESS, 0, true)),
  ArrowUp: (hands, shift) => (shift ? hands.drag([0, SLIDE]) : hands.turn(0, PRESS, true)),
  ArrowDown: (hands, shift) => (shift ? hands.drag([0, -SLIDE]) : hands.turn(0, -PRESS, true)),
  "+": (hands) => hands.zoom(NEARER, null),
  "=": (hands) => hands.zoom(NEARER, null),
  "-": (hands) => hands.zoom(1 / NEARER, null),
  _: (hands) => hands.zoom(1 / NEARER, null),
  Home: (hands) => hands.look(null),
  "0": (hands) => hands.look(null),
};

/** What a button of the page does, by its id. */
export const BUTTONS: Record<string, (hands: Hands) => void> = {
  "turn-left": (hands) => hands.turn(-PRESS, 0, true),
  "turn-right": (hands) => hands.turn(PRESS, 0, true),
  "turn-up": (hands) => hands.turn(0, PRESS, true),
  "turn-down": (hands) => hands.turn(0, -PRESS, true),
  larger: (hands) => hands.zoom(NEARER, null),
  smaller: (hands) => hands.zoom(1 / NEARER, null),
  "view-usual": (hands) => hands.look(null),
  "view-front": (hands) => hands.look([0, 0]),
  "view-side": (hands) => hands.look([90, 0]),
  "view-top": (hands) => hands.look([0, 90]),
};

/** Listen to the canvas until `signal` says stop. */
export function handle(canvas: HTMLCanvasElement, hands: Hands, signal: AbortSignal): void {
  // A finger across the box turns it, two fingers enlarge it; up and down it scrolls, as the stage fills much of a phone.
  canvas.style.touchAction = "pan-y";
  const on = <K extends keyof HTMLElementEventMap>(name: K, does: (event: HTMLElementEventMap[K]) => void) =>
    canvas.addEventListener(name, does, { signal, passive: false });
  pointers(canvas, hands, on);
  on("wheel", (event) => {
    if (document.activeElement !== canvas && !event.ctrlKey) return; // the page scrolls until the box is clicked
    event.preventDefault();
    const notches = event.deltaY / (event.deltaMode === 0 ? 100 : 3); // pixels or lines
    const by = held(event.ctrlKey ? PINCHED * notches : notches, -1, 1); // touch pads send a pinch as wheel with Ctrl
    hands.zoom(NOTCH ** -by, [event.offsetX, event.offsetY]);
  });
  on("keydown", (event) => {
    const does = KEYS[event.key];
    if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    does(hands, event.shiftKey);
  });
}

type On = <K extends keyof HTMLElementEventMap>(name: K, does: (event: HTMLElementEventMap[K]) => void) => void;

/** One pointer turns, two zoom and move, and one that hardly moves taps. */
function pointers(canvas: HTMLCanvasElement, hands: Hands, on: On): void {
  const down = new Map<number, Point>();
  let travelled = 0; // pixels, by all pointers since the first went down

  on("pointerdown", (event) => {
    if (event.button > 0) return;
    canvas.setPointerCapture(event.pointerId);
    if (!down.size) travelled = 0;
    down.set(event.pointerId, [event.offsetX, event.offsetY]);
    if (down.size > 1) travelled = STILL; // two fingers never tap
  });

  on("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const now = [event.offsetX, event.offsetY] as const;
    const by = [now[0] - before[0], now[1] - before[1]] as const;
    const pinched = down.size === 2 ? pinch(down, event.pointerId, now) : null;
    travelled += Math.hypot(...by);
    down.set(event.pointerId, now);
    if (travelled < STILL) return;
    hands.moving(true);
    if (pinched) {
      hands.zoom(pinched.by, pinched.middle);
      hands.drag([by[0] / 2, by[1] / 2]);
    } else if (down.size === 1) {
      if (event.shiftKey) hands.drag(by);
      else hands.turn(-TURN * by[0], TURN * by[1], false);
    }
  });

  const up = (event: PointerEvent) => {
    if (!down.delete(event.pointerId) || down.size) return;
    hands.moving(false);
    if (event.type === "pointerup" && travelled < STILL) hands.tap([event.offsetX, event.offsetY]);
  };
  on("pointerup", up);
  on("pointercancel", up);
}

/** By how much two pointers have moved apart, and where their middle is. */
function pinch(down: ReadonlyMap<number, Point>, moved: number, now: Point): { by: number; middle: Point } | null {
  const before = down.get(moved);
  const other = [...down].find(([id]) => id !== moved)?.[1];
  if (!before || !other) return null;
  const apart = (at: Point) => Math.max(1, Math.hypot(at[0] - other[0], at[1] - other[1]));
  return { by: apart(now) / apart(before), middle: [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2] };
}
