// Customers' files with bytes changed, cut out and put in: whatever comes of it is a picture or a finding, never an exception.
import { prepare } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { file, page, piece, press, PT } from "./artwork-samples.ts";

/** Numerical Recipes' linear congruence: a seeded sequence from 0 to 1. */
const sequence = (seed: number): (() => number) => {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
};

const damaged = (bytes: Uint8Array, next: () => number): Uint8Array => {
  const copy = Uint8Array.from(bytes);
  const at = (): number => Math.floor(next() * copy.length);
  const hits = 1 + Math.floor(next() * 6);
  for (let hit = 0; hit < hits; hit++) {
    const kind = next();
    if (kind < 0.7) copy[at()] = Math.floor(next() * 256);
    else if (kind < 0.85) copy.copyWithin(at(), at(), at());
    else copy.fill(32, at(), at());
  }
  return next() < 0.2 ? copy.subarray(0, at()) : copy;
};

const noisy = () =>
  sharp({
    create: {
      width: 60,
      height: 60,
      channels: 3,
      background: "#000",
      noise: { type: "gaussian", mean: 128, sigma: 30 },
    },
  });
const svg = `<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><style>.a{fill:#0a0}</style><linearGradient id="g"><stop stop-color="#fff"/></linearGradient><g clip-path="url(#c)"><path class="a" d="M0 0h20v20h-20z"/><use href="#u"/></g></svg>`;
const pdf = () =>
  page(
    `q .8 .2 0 .4 k 0 0 ${PT(20)} ${PT(20)} re f Q /G gs /S cs .5 scn ${PT(2)} ${PT(2)} ${PT(9)} ${PT(9)} re f 1 0 0 rg (a\\)b) Tj [1 2] 0 d`,
    {
      ExtGState: { G: { ca: 0.5 } },
      ColorSpace: {
        S: [
          "Separation",
          "Sea",
          "DeviceCMYK",
          { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [1, 0, 0, 0], N: 1 },
        ],
      },
    },
  );

describe.each([
  ["png", () => noisy().png().toBuffer()],
  ["jpeg", () => noisy().jpeg().toBuffer()],
  ["tiff", () => noisy().tiff({ compression: "lzw" }).toBuffer()],
  ["svg", () => Promise.resolve(Buffer.from(svg))],
  ["pdf", pdf],
] as const)("a damaged %s", (format, make) => {
  it("is a picture or a finding", async () => {
    const whole = await make();
    const next = sequence(20_261_125);
    const limits = { resolution: { refuse: 1, warn: 2 } };
    expect((await prepare(piece(file(format, whole)), press(), limits)).value).toBeDefined();
    let refused = 0;
    for (let round = 0; round < 60; round++) {
      const { value, findings } = await prepare(piece(file(format, damaged(whole, next))), press(), limits);
      expect(value === undefined).toBe(findings.some(({ level }) => level === "error"));
      if (!value) refused++;
    }
    expect(refused).toBeGreaterThan(5);
  });
});
