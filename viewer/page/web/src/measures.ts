// Sizes drawn beside the parts: lines with arrows and their figures, and names of lines; as
// viewer/picture/dimensions.py has them.
//
// figure : the words of a measure or of a marked line; where none of its places keeps clear of labels, leaders and
//          other figures it is left out, and the words of the step alone tell it
//
// CSS pixels, x to the right and y down. Nothing is drawn here.

import { added, held, seenAt } from "./camera";
import type { Point, Rectangle, View } from "./camera";
import type { Hole, Measure } from "./data";

const OFF = 1.1; // ems from a part to the line of a measure
const CLEAR = 0.12; // ems that figures keep clear of everything
const ARROW = 0.45; // ems; length of an arrowhead
const SHARES = [0.5, 0.35, 0.65, 0.2, 0.8]; // along a measure, where its figure may stand
const NAMED = [0.7, 0.6, 0.5, 0.85, 0.4, 0.3, 0.2]; // along a named line; corner letters are below the middle
const LABEL_OFF = [0.9, 1.8, 3, 4.5]; // ems from a hole's rim to its label
const LABEL_TURNS = 16; // ways round it that are tried
const SEEN = 0.3; // ems; of a named line that must be seen at either side of its name

export type Segment = readonly [from: Point, to: Point];

export interface DrawnMeasure {
  index: number; // of the measure
  box: Rectangle; // of its figure
  line: Segment | null; // from arrow to arrow; null for a name
  ticks: Segment[]; // from the part to beyond the line
}

/** What figures must keep clear of. */
export interface Taken {
  room: Rectangle;
  boxes: readonly Rectangle[];
  leaders: readonly Segment[];
}

/** The measures and names that find room, in their order. `sizes` are those of the figures, with their plates. */
export function drawnMeasures(
  measures: readonly Measure[], sizes: readonly Point[], view: View, taken: Taken, em: number,
): DrawnMeasure[] {
  const found: DrawnMeasure[] = [];
  measures.forEach((measure, index) => {
    const now = { ...taken, boxes: [...taken.boxes, ...found.map((one) => one.box)] };
    for (const way of ways(measure, sizes[index] as Point, view, em)) {
      if (!free(way.box, now, CLEAR * em)) continue;
      found.push({ index, ...way });
      break;
    }
  });
  return found;
}

export interface DrawnHole {
  index: number; // of the hole
  box: Rectangle; // of its label
  leader: Segment; // from its rim to the label
}

/** The labels of holes that find room, in their order; a leader passes through no other figure. */
export function drawnHoles(
  holes: readonly Hole[], sizes: readonly Point[], view: View, taken: Taken, em: number,
): DrawnHole[] {
  const rims = holes.map((hole) => hole.rim.map((point) => seenAt(view, point)));
  const rings = rims.map(around);
  const found: DrawnHole[] = [];
  holes.forEach((_, index) => {
    const boxes = [...taken.boxes, ...found.map((one) => one.box)];
    const leaders = [...taken.leaders, ...found.map((one) => one.leader)];
    const others = [...boxes, ...rings.filter((_, i) => i !== index)];
    for (const way of holeLabels(rims[index] as Point[], sizes[index] as Point, em)) {
      if (!free(way.box, { ...taken, boxes: [...boxes, ...rings], leaders }, CLEAR * em)) continue;
      if (others.some((box) => passes(way.leader, box))) continue;
      found.push({ index, ...way });
      break;
    }
  });
  return found;
}

/** The ways to put a hole's label, the nearest first. */
function* holeLabels(rim: readonly Point[], size: Point, em: number): Generator<Omit<DrawnHole, "index">> {
  const middle = rim.reduce((sum, point) => plus(sum, point, 1 / rim.length), [0, 0] as Point);
  for (const off of LABEL_OFF) {
    for (let turn = 0; turn < LABEL_TURNS; turn += 1) {
      const angle = (2 * Math.PI * turn) / LABEL_TURNS;
      const way = [Math.sin(angle), -Math.cos(angle)] as const;
      const along = (point: Point) => (point[0] - middle[0]) * way[0] + (point[1] - middle[1]) * way[1];
      const start = rim.reduce((best, point) => (along(point) > along(best) ? point : best));
      const at = plus(start, [off * em * way[0] + (size[0] / 2) * way[0], off * em * way[1] + (size[1] / 2) * way[1]], 1);
      const box = boxAt(at, size);
      const end = [held(start[0], box[0], box[2]), held(start[1], box[1], box[3])] as const;
      yield { box, leader: [start, end] };
    }
  }
}

/** The box round points. */
function around(points: readonly Point[]): Rectangle {
  const [x, y] = [points.map((point) => point[0]), points.map((point) => point[1])];
  return [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];
}

type Way = Omit<DrawnMeasure, "index">;

/** The ways to draw a measure or a name, the best liked first. */
function* ways(measure: Measure, size: Point, view: View, em: number): Generator<Way> {
  const [start, end] = [seenAt(view, measure.from), seenAt(view, measure.to)];
  if (!measure.away) {
    for (const middle of names(start, end, size, em)) yield { box: boxAt(middle, size), line: null, ticks: [] };
    return;
  }
  const beside = less(seenAt(view, added(measure.from, measure.away)), start);
  const far = Math.hypot(...beside);
  const way = far > 1e-6 ? ([beside[0] / far, beside[1] / far] as const) : ([0, 0] as const);
  for (const off of far > 1e-6 ? [OFF, 2 * OFF] : [0]) {
    const line = [plus(start, way, off * em), plus(end, way, off * em)] as const;
    const ticks = [[start, plus(line[0], way, 0.3 * em)], [end, plus(line[1], way, 0.3 * em)]] as const;
    for (const middle of middles(line, way, size, em)) yield { box: boxAt(middle, size), line, ticks: [...ticks] };
  }
}

/** Where the middle of a figure may stand: on a long line, else beside it or beyond its ends. */
function* middles(line: Segment, way: Point, size: Point, em: number): Generator<Point> {
  const run = less(line[1], line[0]);
  const long = Math.hypot(...run);
  const ahead = [run[0] / Math.max(long, 1e-9), run[1] / Math.max(long, 1e-9)] as const;
  const reach = (size[0] * Math.abs(ahead[0]) + size[1] * Math.abs(ahead[1])) / 2; // of a figure, along the line
  if (long > 2 * reach + 2.4 * ARROW * em) {
    for (const share of SHARES) yield plus(line[0], run, share);
    return;
  }
  const beside = (size[0] * Math.abs(way[0]) + size[1] * Math.abs(way[1])) / 2 + 0.45 * em;
  yield plus(plus(line[0], run, 0.5), way, beside);
  yield plus(line[1], ahead, reach + (ARROW + 0.4) * em);
  yield plus(line[0], ahead, -reach - (ARROW + 0.4) * em);
}

/** Where the middle of a name may stand: on its line, else beyond an end of a level line, else beside it. */
function* names(start: Point, end: Point, size: Point, em: number): Generator<Point> {
  const run = less(end, start);
  const long = Math.hypot(...run);
  const ahead = [run[0] / Math.max(long, 1e-9), run[1] / Math.max(long, 1e-9)] as const;
  const reach = (side: number, share: number) => side / Math.max(Math.abs(share), 1e-9);
  const through = (x: number, y: number) => Math.min(reach(size[0], x), reach(size[1], y));
  const places = NAMED.map((share) => plus(start, run, share));
  if (long > through(ahead[0], ahead[1]) + 2 * SEEN * em) yield* places;
  if (Math.abs(ahead[0]) > Math.abs(ahead[1])) {
    const level = Math.sign(ahead[0]) * (size[0] / 2 + 0.2 * em);
    yield [start[0] - level, start[1]];
    yield [end[0] + level, end[1]];
  }
  const aside = through(ahead[1], ahead[0]) / 2 + 0.2 * em;
  for (const place of places) {
    for (const sign of [1, -1]) yield plus(place, [-ahead[1], ahead[0]], sign * aside);
  }
}

/** The two arrowheads of a measure: at its ends, turned inwards where the line is too short. */
export function heads(line: Segment, em: number): [Point, Point, Point][] {
  const run = less(line[1], line[0]);
  const long = Math.max(Math.hypot(...run), 1e-9);
  const sign = long > 2.4 * ARROW * em ? 1 : -1;
  const back = [(sign * ARROW * em * run[0]) / long, (sign * ARROW * em * run[1]) / long] as const;
  const aside = [-0.32 * back[1], 0.32 * back[0]] as const;
  return line.map((tip, i) => {
    const foot = plus(tip, back, i ? -1 : 1);
    return [tip, plus(foot, aside, 1), plus(foot, aside, -1)];
  });
}

/** Whether a box is inside the room and meets neither boxes nor leaders. */
export function free([l, t, r, b]: Rectangle, { room, boxes, leaders }: Taken, clear: number): boolean {
  const [left, top, right, bottom] = [l - clear, t - clear, r + clear, b + clear];
  const inside = room[0] <= left && room[1] <= top && right <= room[2] && bottom <= room[3];
  const apart = boxes.every((box) => right <= box[0] || box[2] <= left || bottom <= box[1] || box[3] <= top);
  return inside && apart && !leaders.some((leader) => passes(leader, [left, top, right, bottom]));
}

/** Whether a line passes through the inside of a box: what of it is left within the box's sides has a length. */
export function passes([from, to]: Segment, [left, top, right, bottom]: Rectangle): boolean {
  const [dx, dy] = less(to, from);
  let [first, last] = [0, 1];
  const sides = [[-dx, from[0] - left], [dx, right - from[0]], [-dy, from[1] - top], [dy, bottom - from[1]]] as const;
  for (const [way, room] of sides) {
    if (way === 0 && room <= 0) return false;
    if (way < 0) first = Math.max(first, room / way);
    if (way > 0) last = Math.min(last, room / way);
  }
  return first < last;
}

const less = (a: Point, b: Point): Point => [a[0] - b[0], a[1] - b[1]];
const plus = (a: Point, way: Point, times: number): Point => [a[0] + times * way[0], a[1] + times * way[1]];
const boxAt = ([x, y]: Point, [w, h]: Point): Rectangle => [x - w / 2, y - h / 2, x + w / 2, y + h / 2];
