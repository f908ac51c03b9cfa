// A subject as three.js draws it: lit faces, their lines, patches, strokes; and nothing that is not asked for.
//
// owner : the part of the subject that something belongs to and moves with, by its index
// frame : how the subject is seen at one moment
//
// What lies on a face is moved to the viewer so that it is not lost in the face; in a parallel view that moves nothing
// on the picture.

import {
  BufferAttribute, BufferGeometry, Matrix4, Mesh, OrthographicCamera, Scene, Vector2, Vector3, WebGLRenderer,
} from "three";
import type { Material, WebGLRenderTarget } from "three";
import { added, axesOf } from "./camera";
import type { View } from "./camera";
import type { Arrays, PageData, Part, Subject, V3 } from "./data";
import { lineBuffers, Materials } from "./materials";
import { cornersOf, lit, shares, tint } from "./shading";
import type { Tint } from "./shading";

/** How far what lies on a face is moved to the viewer: a little more than it is wide to either side, CSS pixels. */
const NEARER = { clear: 0.3, grain: 0.5, ground: 0.5, ink: 0.8, edges: 1.2, strokes: 2.4 };
const WIDTHS = { grain: 0.8, edges: 1.15, earlier: 1.15, ghosts: 1.6, fresh: 2.6, chosen: 2.6 }; // CSS pixels
const FINEST = 2; // pixels drawn for one CSS pixel, each way, at most

export interface Frame {
  view: View;
  explode: number; // 0 closed to 1 taken apart
  hidden: ReadonlySet<number>; // parts of the subject
  chosen: number; // part of the subject, or -1
  deep: number; // how far before and behind the focus anything is, mm
}

interface Drawn {
  object: Mesh;
  owner: number;
  nearer: number;
}

/** Draws one subject after another onto one canvas. */
export class Picture {
  private readonly renderer: WebGLRenderer;
  private readonly camera = new OrthographicCamera();
  private readonly stage = { value: new Vector2(1, 1) };
  private readonly widths: Record<keyof typeof WIDTHS, { value: number }>;
  private readonly materials: Materials<keyof typeof WIDTHS>; // outlive a subject: a step is shown without compiling
  private content: Content | null = null;

  /** Throws where the browser gives no WebGL. */
  constructor(canvas: HTMLCanvasElement, private arrays: Arrays, private data: PageData) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.setClearColor(0, 0);
    this.widths = Object.fromEntries(Object.keys(WIDTHS).map((key) => [key, { value: 1 }])) as typeof this.widths;
    this.materials = new Materials(this.widths, this.stage);
  }

  feed(arrays: Arrays, data: PageData): void {
    [this.arrays, this.data] = [arrays, data];
  }

  show(subject: Subject): void {
    this.content?.end();
    this.content = new Content(subject, this.arrays, this.data, this.materials);
  }

  drop(): void {
    this.content?.end();
    this.content = null;
    this.materials.end();
  }

  draw(frame: Frame): void {
    const { view } = frame;
    const ratio = Math.min(window.devicePixelRatio || 1, FINEST);
    const wanted = [Math.round(view.size[0] * ratio), Math.round(view.size[1] * ratio)] as const;
    const canvas = this.renderer.domElement;
    if (canvas.width !== wanted[0] || canvas.height !== wanted[1]) this.renderer.setSize(...wanted, false);
    this.stage.value.set(...wanted);
    for (const key of Object.keys(WIDTHS) as (keyof typeof WIDTHS)[]) this.widths[key].value = WIDTHS[key] * ratio;
    if (!this.content) return;
    this.content.arrange(frame);
    this.aim(view, frame.deep);
    this.renderer.render(this.content.scene, this.camera);
  }

  /** What is seen in a view, as marks (see identity.ts), from the lowest row up; `markOf` reads them. */
  marks(frame: Frame, target: WebGLRenderTarget): Uint8Array {
    const [width, height] = frame.view.size;
    const bytes = new Uint8Array(width * height * 4);
    if (!this.content) return bytes;
    this.content.arrange(frame);
    this.aim(frame.view, frame.deep);
    target.setSize(width, height);
    this.renderer.setRenderTarget(target);
    this.renderer.render(this.content.marks, this.camera);
    this.renderer.readRenderTargetPixels(target, 0, 0, width, height, bytes);
    this.renderer.setRenderTarget(null);
    return bytes;
  }

  get lost(): boolean {
    return this.renderer.getContext().isContextLost();
  }

  end(): void {
    this.drop();
    this.renderer.dispose();
  }

  private aim({ direction, focus, scale, size }: View, deep: number): void {
    const { right, up, towards } = axesOf(direction);
    const { camera } = this;
    [camera.right, camera.top] = [size[0] / 2 / scale, size[1] / 2 / scale];
    [camera.left, camera.bottom, camera.near, camera.far] = [-camera.right, -camera.top, 0, 2 * deep];
    camera.updateProjectionMatrix();
    const basis = new Matrix4().makeBasis(new Vector3(...right), new Vector3(...up), new Vector3(...towards));
    camera.quaternion.setFromRotationMatrix(basis);
    camera.position.set(...focus).addScaledVector(new Vector3(...towards), deep);
    camera.updateMatrixWorld();
  }
}

/** The objects of one subject: what is looked at, and the same as marks. */
class Content {
  readonly scene = new Scene();
  readonly marks = new Scene();
  private readonly drawn: Drawn[] = [];
  private readonly faces: { geometry: BufferGeometry; corners: Float32Array; colour: Tint }[] = [];
  private readonly edges: { object: Mesh; usual: Material; chosen: Material }[] = [];
  private side = NaN; // for which the faces are lit

  constructor(
    private readonly subject: Subject,
    private readonly arrays: Arrays,
    private readonly data: PageData,
    private readonly materials: Materials<keyof typeof WIDTHS>,
  ) {
    const tints = data.tints;
    const lines = {
      edges: materials.line(tint(tints.edge), "edges"), chosen: materials.line(tint(tints.ink), "chosen"),
      fresh: materials.line(tint(tints.ink), "fresh"), earlier: materials.line(tint(tints.quiet), "earlier"),
      ghosts: materials.line(tint(tints.quiet), "ghosts"),
    };
    subject.parts.forEach((part, owner) => this.addPart(part, owner, lines.edges, lines.chosen));
    this.addJoints();
    for (const { part, lines: index, fresh } of subject.strokes) {
      this.add(lineBuffers(arrays.ends(index)), fresh ? lines.fresh : lines.earlier, part, NEARER.strokes);
    }
    for (const index of subject.ghosts) this.add(lineBuffers(arrays.ends(index)), lines.ghosts, -1, NEARER.edges);
  }

  /** Put everything where a frame has it. */
  arrange({ view, explode, hidden, chosen }: Frame): void {
    const side = Math.sign(view.direction[0]) < 0 ? -1 : 1;
    if (side !== this.side) this.light(side);
    const { towards } = axesOf(view.direction);
    for (const { object, owner, nearer } of this.drawn) {
      const away: V3 = this.subject.parts[owner]?.away ?? [0, 0, 0];
      const off = nearer / view.scale;
      object.position.set(...added(added([0, 0, 0], away, explode), towards, off));
      object.visible = !hidden.has(owner);
    }
    this.edges.forEach(({ object, usual, chosen: strong }, owner) => {
      object.material = owner === chosen ? strong : usual;
    });
  }

  end(): void {
    for (const { object } of this.drawn) object.geometry.dispose();
  }

  private addPart(part: Part, owner: number, edge: Material, chosen: Material): void {
    const surface = this.arrays.surface(part.mesh);
    const colour = tint(part.colour);
    const geometry = new BufferGeometry();
    const corners = cornersOf(surface);
    geometry.setAttribute("position", new BufferAttribute(corners, 3));
    this.faces.push({ geometry, corners, colour });
    const nearer = part.opacity < 1 ? NEARER.clear : 0; // a clear part lies on what it touches
    this.add(geometry, this.materials.lit(part.opacity), owner, nearer);
    this.add(geometry, this.materials.plain(markTint(owner + 1), true), owner, nearer, this.marks);
    if (part.grain !== null) {
      const shade = colour.map((share) => share * this.data.grain) as unknown as Tint;
      this.add(lineBuffers(this.arrays.ends(part.grain)), this.materials.line(shade, "grain"), owner, NEARER.grain);
    }
    const object = this.add(lineBuffers(surface.ends), edge, owner, NEARER.edges);
    this.edges.push({ object, usual: edge, chosen });
  }

  private addJoints(): void {
    const ink = this.materials.plain(tint(this.data.tints.ink));
    let mark = this.subject.parts.length;
    for (const joint of this.subject.joints) {
      const ground = this.materials.plain(tint(joint.colour));
      for (const patch of joint.patches) {
        mark += 1;
        const area = this.flat(patch.ground);
        this.add(area, ground, patch.part, NEARER.ground);
        this.add(area, this.materials.plain(markTint(mark)), patch.part, NEARER.ground, this.marks);
        this.add(this.flat(patch.ink), ink, patch.part, NEARER.ink);
      }
    }
  }

  private flat(mesh: number): BufferGeometry {
    const { points, triangles } = this.arrays.surface(mesh);
    const found = new BufferGeometry();
    found.setAttribute("position", new BufferAttribute(points, 3));
    found.setIndex(new BufferAttribute(triangles, 1));
    return found;
  }

  private add(geometry: BufferGeometry, material: Material, owner: number, nearer: number, to = this.scene): Mesh {
    const object = new Mesh(geometry, material);
    object.frustumCulled = false; // what is drawn is always fitted to the stage
    this.drawn.push({ object, owner, nearer });
    to.add(object);
    return object;
  }

  private light(side: number): void {
    this.side = side;
    for (const { geometry, corners, colour } of this.faces) {
      const tints = lit(shares(corners, this.data.lights, side), colour);
      geometry.setAttribute("lit", new BufferAttribute(tints, 3));
    }
  }
}

/** The tint that stands for a mark; `markOf` reads it. */
const markTint = (mark: number): Tint => [(mark & 255) / 255, (mark >> 8) / 255, 0];

export const markOf = (bytes: Uint8Array, pixel: number): number =>
  (bytes[4 * pixel] as number) + 256 * (bytes[4 * pixel + 1] as number);
