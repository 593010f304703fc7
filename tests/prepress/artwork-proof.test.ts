import { encodePng, overlaid, renderPage } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { page, PT } from "./artwork-samples.ts";

const black = (x: number, y: number, width: number, height: number): string =>
  `${PT(x)} ${PT(y)} ${PT(width)} ${PT(height)} re f`;
const at = (pixels: { readonly data: Uint8Array; readonly width: number }, x: number, y: number): number[] => [
  ...pixels.data.subarray((y * pixels.width + x) * 4, (y * pixels.width + x) * 4 + 4),
];

describe("renderPage", () => {
  it("gives exactly the pixels asked for, the page's top at the top", async () => {
    const bytes = await page(`1 0 0 rg ${black(0, 10, 10, 10)}`);
    const drawn = await renderPage(bytes, 0, { width: 401, height: 399 });
    expect([drawn.width, drawn.height, drawn.data.length]).toEqual([401, 399, 401 * 399 * 4]);
    expect(at(drawn, 100, 100)).toEqual([255, 0, 0, 255]);
    expect(at(drawn, 100, 300)).toEqual([255, 255, 255, 255]);
    expect(at(drawn, 300, 100)).toEqual([255, 255, 255, 255]);
  });

  it("draws a region as it is in the whole, and nothing beyond the page", async () => {
    const bytes = await page(`0 0 1 rg ${PT(10)} ${PT(2)} m ${PT(18)} ${PT(17)} l ${PT(3)} ${PT(12)} l f`);
    const size = { width: 200, height: 200 };
    const whole = await renderPage(bytes, 0, { ...size, transparent: true });
    const region = { x: -10, y: 50, width: 120, height: 90 };
    const part = await renderPage(bytes, 0, { ...size, region, transparent: true });
    for (let y = 0; y < 90; y++)
      for (let x = 0; x < 120; x++)
        if (x < 10) expect(at(part, x, y)[3]).toBe(0);
        else if (String(at(part, x, y)) !== String(at(whole, x - 10, y + 50))) expect.fail(`pixel ${x}, ${y} differs`);
  });

  it("shows no seam where large pages are drawn in strips", async () => {
    const bytes = await page(`0 0 1 rg ${black(0, 0, 20, 20)}`);
    const { data } = await renderPage(bytes, 0, { width: 3000, height: 3000 });
    // Nine million pixels: more than one strip.
    for (let pixel = 0; pixel < data.length; pixel += 4)
      if (data[pixel] !== 0 || data[pixel + 2] !== 255) expect.fail(`pixel ${pixel / 4} is not blue`);
  });

  it("smooths letters and edges without colour", async () => {
    const { data } = await renderPage(await page(`0 0 m ${PT(20)} ${PT(17)} l ${PT(20)} 0 l f`), 0, {
      width: 90,
      height: 90,
    });
    let between = 0;
    for (let pixel = 0; pixel < data.length; pixel += 4) {
      expect([data[pixel + 1], data[pixel + 2]]).toEqual([data[pixel], data[pixel]]);
      if (data[pixel] !== 0 && data[pixel] !== 255) between++;
    }
    expect(between).toBeGreaterThan(50);
  });

  it("throws on what is no page of ours", async () => {
    await expect(renderPage(await page(""), 1, { width: 9, height: 9 })).rejects.toThrow(/page 2 .*no-page/);
  });
});

describe("pictures of proofs", () => {
  it("PNG gives the samples back, and the same bytes for the same samples", async () => {
    for (const channels of [1, 3, 4] as const) {
      const samples = Uint8Array.from({ length: 30 * 20 * channels }, (_, i) => (i * 37) % 256);
      const bytes = await encodePng(samples, 30, 20, channels);
      expect(await encodePng(samples.slice(), 30, 20, channels)).toEqual(bytes);
      // sharp makes three channels of grey unless told not to.
      const back = await sharp(bytes)
        .toColourspace(channels === 1 ? "b-w" : "srgb")
        .raw()
        .toBuffer({ resolveWithObject: true });
      expect((await sharp(bytes).metadata()).channels).toBe(channels);
      expect([back.info.channels, Buffer.compare(back.data, samples)]).toEqual([channels, 0]);
    }
  });

  it("overlay stretches its drawing over the whole raster, pixel for pixel", async () => {
    const paper = new Uint8Array(301 * 203 * 4).fill(255);
    const svg =
      '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 301 203"><path d="M10 20h5v7h-5z" fill="#0f0"/><path d="M300 202h1v1h-1z" fill="#00f"/></svg>';
    const bytes = await overlaid(paper, 301, 203, svg);
    expect(await overlaid(paper.slice(), 301, 203, svg)).toEqual(bytes);
    expect(bytes.length).toBe(301 * 203 * 4);
    const pixel = (x: number, y: number): number[] => [...bytes.subarray((y * 301 + x) * 4, (y * 301 + x) * 4 + 3)];
    expect([9, 10, 14, 15].map((x) => pixel(x, 23)[0])).toEqual([255, 0, 0, 255]);
    expect([19, 20, 26, 27].map((y) => pixel(12, y)[0])).toEqual([255, 0, 0, 255]);
    expect([pixel(299, 202), pixel(300, 202)]).toEqual([
      [255, 255, 255],
      [0, 0, 255],
    ]);
  });
});
