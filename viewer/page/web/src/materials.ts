// The three ways in which the page draws: lit faces, faces of one tint, and lines of any width.

import { BufferAttribute, BufferGeometry, DoubleSide, FrontSide, GLSL3, RawShaderMaterial, Vector3 } from "three";
import type { Vector2 } from "three";
import type { Tint } from "./shading";

const PLACE = "projectionMatrix * modelViewMatrix * vec4";
const MATRICES = "precision highp float; uniform mat4 modelViewMatrix, projectionMatrix; in vec3 position;";

const OF_TINT = `precision highp float; uniform vec3 tint; uniform float opacity; out vec4 colour;
void main() { colour = vec4(tint, opacity); }`;

type Stage = { value: Vector2 }; // shared by all lines: the size of what is drawn to, pixels

/** Faces with a tint at each corner (attribute `lit`). */
function litFaces(opacity: number): RawShaderMaterial {
  return new RawShaderMaterial({
    glslVersion: GLSL3,
    side: FrontSide,
    transparent: opacity < 1,
    uniforms: { opacity: { value: opacity } },
    vertexShader: `${MATRICES} in vec3 lit; out vec3 tint;
      void main() { tint = lit; gl_Position = ${PLACE}(position, 1.0); }`,
    fragmentShader: `precision highp float; uniform float opacity; in vec3 tint; out vec4 colour;
      void main() { colour = vec4(tint, opacity); }`,
  });
}

/** Faces of one tint, seen from both sides unless they close a solid. */
function plainFaces(tint: Tint, solid = false): RawShaderMaterial {
  return new RawShaderMaterial({
    glslVersion: GLSL3,
    side: solid ? FrontSide : DoubleSide,
    uniforms: { tint: { value: new Vector3(...tint) }, opacity: { value: 1 } },
    vertexShader: `${MATRICES} void main() { gl_Position = ${PLACE}(position, 1.0); }`,
    fragmentShader: OF_TINT,
  });
}

/** Lines of a width in pixels of what is drawn to: each a strip, longer than the line by half its width at each end. */
function wideLines(tint: Tint, width: { value: number }, stage: Stage): RawShaderMaterial {
  return new RawShaderMaterial({
    glslVersion: GLSL3,
    side: DoubleSide,
    uniforms: { tint: { value: new Vector3(...tint) }, opacity: { value: 1 }, width, stage },
    vertexShader: `${MATRICES} in vec3 other; in vec2 corner; uniform vec2 stage; uniform float width;
      void main() {
        vec4 here = ${PLACE}(position, 1.0);
        vec2 run = ((${PLACE}(other, 1.0)).xy - here.xy) * stage * corner.x;
        float far = length(run);
        vec2 ahead = far > 0.0 ? run / far : vec2(1.0, 0.0);
        vec2 aside = vec2(-ahead.y, ahead.x) * corner.y - ahead * corner.x;
        gl_Position = here + vec4(aside * width / stage, 0.0, 0.0);
      }`,
    fragmentShader: OF_TINT,
  });
}

/** What is drawn with, each made once: a browser compiles the shaders of what it has let go of anew. */
export class Materials<Width extends string> {
  private readonly known = new Map<string, RawShaderMaterial>();

  constructor(private readonly widths: Record<Width, { value: number }>, private readonly stage: Stage) {}

  lit(opacity: number): RawShaderMaterial {
    return this.once(`lit ${opacity}`, () => litFaces(opacity));
  }

  plain(tint: Tint, solid = false): RawShaderMaterial {
    return this.once(`plain ${tint} ${solid}`, () => plainFaces(tint, solid));
  }

  line(tint: Tint, width: Width): RawShaderMaterial {
    return this.once(`line ${tint} ${width}`, () => wideLines(tint, this.widths[width], this.stage));
  }

  /** Let go of all of them. */
  end(): void {
    for (const material of this.known.values()) material.dispose();
    this.known.clear();
  }

  private once(key: string, made: () => RawShaderMaterial): RawShaderMaterial {
    const found = this.known.get(key) ?? made();
    this.known.set(key, found);
    return found;
  }
}

/** The buffers of lines for `wideLines`: `ends` are k * 2 ends * 3, mm; each line becomes four corners. */
export function lineBuffers(ends: Float32Array): BufferGeometry {
  const count = ends.length / 6;
  const [here, other] = [new Float32Array(count * 12), new Float32Array(count * 12)];
  const [corner, index] = [new Float32Array(count * 8), new Uint32Array(count * 6)];
  for (let i = 0; i < count; i++) {
    const [a, b] = [ends.subarray(6 * i, 6 * i + 3), ends.subarray(6 * i + 3, 6 * i + 6)];
    [a, a, b, b].forEach((end, k) => here.set(end, 12 * i + 3 * k));
    [b, b, a, a].forEach((end, k) => other.set(end, 12 * i + 3 * k));
    corner.set([1, 1, 1, -1, -1, 1, -1, -1], 8 * i); // from its start or its end; to the left or to the right
    index.set([0, 1, 2, 2, 1, 3].map((k) => 4 * i + k), 6 * i);
  }
  const found = new BufferGeometry();
  found.setAttribute("position", new BufferAttribute(here, 3));
  found.setAttribute("other", new BufferAttribute(other, 3));
  found.setAttribute("corner", new BufferAttribute(corner, 2));
  found.setIndex(new BufferAttribute(index, 1));
  return found;
}
