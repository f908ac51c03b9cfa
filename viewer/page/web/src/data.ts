// What the page is given: the box, its steps and its arrays, as JSON with one blob of bytes, packed.
//
// packed: in base64 what zlib made of four bytes that say how long the JSON is, the JSON, and the blob
// mesh  : points and triangles of one surface, and its true edges
// lines : separate straight lines, two ends each
//
// Lengths are millimetres: x right, y back, z up. Whole numbers of a mesh's grid stand for places: low + step * number.

import { unzlibSync } from "fflate";

export type V3 = readonly [number, number, number];
export type Span = readonly [offset: number, count: number]; // bytes from the blob's start, and how many entries

export interface Part {
  part: number; // place in the list of parts, from 0
  kind: string; // parts of one kind are named together
  title: string;
  label: string[]; // lines of the label; none where another part's label tells it
  colour: string; // #rrggbb
  opacity: number;
  mesh: number;
  grain: number | null; // index into lines
  away: V3; // from closed to taken apart
}

export interface Patch {
  part: number; // index into the parts of its box
  ground: number; // meshes
  ink: number;
}

export interface Joint {
  name: string;
  words: string;
  colour: string;
  worst: boolean;
  patches: Patch[];
}

export interface Strokes {
  part: number; // index into the parts of its step
  lines: number;
  fresh: boolean; // drawn in this step, else in one before it
}

export interface Measure {
  text: string;
  from: V3;
  to: V3;
  away: V3 | null; // unit vector to where a size is drawn; null for the name of a line
}

export interface Hole {
  text: string; // its diameter, and how deep it is or that it goes through
  rim: V3[]; // points round it, on the face that the bit enters
}

export interface Box {
  title: string;
  direction: readonly [round: number, up: number];
  parts: Part[];
  joints: Joint[];
}

export interface Step {
  direction: readonly [round: number, up: number];
  parts: Part[];
  strokes: Strokes[];
  measures: Measure[];
  holes: Hole[];
  ghosts: number[]; // lines: edges of what is only laid on a part
}

export interface MeshSpans {
  low: V3;
  step: number;
  points: Span; // count * 3 uint16
  triangles: Span; // count * 3 uint16
  edges: Span; // count * 2 uint16
}

export interface LineSpans {
  low: V3;
  step: number;
  ends: Span; // count * 6 uint16
}

export interface Lights {
  ambient: number;
  sun: (readonly [towards: V3, strength: number])[]; // for a viewer on the right; mirrored in x for one on the left
}

export interface PageData {
  key: string; // under which ticks are kept
  boxes: Box[];
  steps: Step[];
  meshes: MeshSpans[];
  lines: LineSpans[];
  lights: Lights;
  tints: Record<"ink" | "paper" | "text" | "quiet" | "edge", string>;
  grain: number; // a grain line's tint as a share of its timber's
  blob: Uint8Array; // little-endian
}

/** The data of a page, unpacked. */
export function unpacked(packed: string): PageData {
  const raw = unzlibSync(Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0)));
  const end = 4 + new DataView(raw.buffer, raw.byteOffset).getUint32(0, true);
  const told = JSON.parse(new TextDecoder().decode(raw.subarray(4, end))) as Omit<PageData, "blob">;
  return { ...told, blob: raw.slice(end) };
}

export interface Surface {
  points: Float32Array; // n * 3, mm
  triangles: Uint16Array; // m * 3
  ends: Float32Array; // of edges: k * 2 ends * 3, mm
}

/** What is shown at once: a box or a step, in one form. */
export interface Subject {
  direction: readonly [round: number, up: number];
  parts: Part[];
  joints: Joint[];
  strokes: Strokes[];
  measures: Measure[];
  holes: Hole[];
  ghosts: number[];
}

export const boxSubject = (box: Box): Subject => ({ ...box, strokes: [], measures: [], holes: [], ghosts: [] });
export const stepSubject = (step: Step): Subject => ({ ...step, joints: [] });

/** The arrays of a page, decoded when they are first asked for. */
export class Arrays {
  private readonly bytes: Uint8Array;
  private readonly surfaces = new Map<number, Surface>();
  private readonly runs = new Map<number, Float32Array>();

  constructor(private readonly data: Pick<PageData, "meshes" | "lines" | "blob">) {
    this.bytes = data.blob;
  }

  surface(index: number): Surface {
    return kept(this.surfaces, index, () => {
      const mesh = given(this.data.meshes, index, "mesh");
      const points = places(this.numbers(mesh.points, 3), mesh);
      const edges = this.numbers(mesh.edges, 2);
      const ends = new Float32Array(edges.length * 3);
      edges.forEach((point, i) => ends.set(points.subarray(3 * point, 3 * point + 3), 3 * i));
      return { points, triangles: this.numbers(mesh.triangles, 3), ends };
    });
  }

  /** Ends of lines: k * 2 ends * 3, mm. */
  ends(index: number): Float32Array {
    return kept(this.runs, index, () => {
      const lines = given(this.data.lines, index, "lines");
      return places(this.numbers(lines.ends, 6), lines);
    });
  }

  private numbers([offset, count]: Span, wide: number): Uint16Array {
    const end = offset + 2 * wide * count;
    if (end > this.bytes.length) throw new Error(`array: ends at byte ${end}, the page has ${this.bytes.length}`);
    const view = new DataView(this.bytes.buffer, this.bytes.byteOffset + offset, 2 * wide * count);
    return Uint16Array.from({ length: wide * count }, (_, i) => view.getUint16(2 * i, true));
  }
}

function places(numbers: Uint16Array, grid: { low: V3; step: number }): Float32Array {
  return Float32Array.from(numbers, (number, i) => grid.low[(i % 3) as 0 | 1 | 2] + grid.step * number);
}

function given<T>(list: readonly T[], index: number, what: string): T {
  const found = list[index];
  if (found === undefined) throw new Error(`${what}: got number ${index}, the page has ${list.length}`);
  return found;
}

export function kept<K, V>(found: Map<K, V>, key: K, make: () => V): V {
  let value = found.get(key);
  if (value === undefined) {
    value = make();
    found.set(key, value);
  }
  return value;
}
