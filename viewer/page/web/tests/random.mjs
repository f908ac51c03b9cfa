/** Random numbers from 0 to 1 that are the same at every run: mulberry32, a public-domain generator, from memory. */
export function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

export const close = (found, wanted, within = 1e-9) =>
  found.length === wanted.length && found.every((value, i) => Math.abs(value - wanted[i]) <= within);
