// Flat light, worked out beforehand: one tint for each triangle, as the lights of viewer/scene/tints.py leave it.

import type { Lights, Surface, V3 } from "./data";

export type Tint = readonly [red: number, green: number, blue: number]; // shares of full, sRGB

export function tint(written: string): Tint {
  const number = parseInt(written.slice(1), 16);
  return [(number >> 16) / 255, ((number >> 8) & 255) / 255, (number & 255) / 255];
}

/** Corners of all triangles, each triangle with its own: m * 3 corners * 3, mm. */
export function cornersOf({ points, triangles }: Surface): Float32Array {
  const corners = new Float32Array(triangles.length * 3);
  triangles.forEach((point, i) => corners.set(points.subarray(3 * point, 3 * point + 3), 3 * i));
  return corners;
}

/** The share of its full tint at which each triangle is seen: (m,). `side` is below 0 for a viewer on the left. */
export function shares(corners: Float32Array, lights: Lights, side: number): Float32Array {
  const found = new Float32Array(corners.length / 9);
  for (let i = 0; i < found.length; i++) {
    const normal = normalOf(corners.subarray(9 * i, 9 * i + 9));
    found[i] = lights.sun.reduce((sum, [[x, y, z], strength]) => {
      const facing = (side < 0 ? -x : x) * normal[0] + y * normal[1] + z * normal[2];
      return sum + strength * Math.max(0, facing);
    }, lights.ambient);
  }
  return found;
}

/** Tints of all corners: m * 3 corners * 3. */
export function lit(share: Float32Array, colour: Tint): Float32Array {
  const found = new Float32Array(share.length * 9);
  for (let i = 0; i < found.length; i++) {
    found[i] = Math.min(1, (share[Math.floor(i / 9)] as number) * (colour[i % 3] as number));
  }
  return found;
}

function normalOf(corners: Float32Array): V3 {
  const [ax, ay, az, bx, by, bz, cx, cy, cz] = corners as unknown as number[] as [
    number, number, number, number, number, number, number, number, number,
  ];
  const [ux, uy, uz, vx, vy, vz] = [bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az];
  const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
  const long = Math.hypot(x, y, z) || 1;
  return [x / long, y / long, z / long];
}
