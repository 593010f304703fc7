// Clips by basic shapes of CSS. A browser is the judge: it draws the designer's own file, and another renderer what the kit
// made of it. The few without a judge are worked by hand from CSS Shapes 1 and CSS Masking 1.
import { existsSync } from "node:fs";
import { Resvg } from "@resvg/resvg-js";
import { chromium } from "playwright-core";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { CHROMIUM, FLAGS } from "../support/browser.ts";
import { pieceOf } from "../support/kits.ts";
import { oracle } from "../support/promised.ts";

const box = (style: string, more = ""): string =>
  `<rect x="20" y="10" width="60" height="40" fill="#c33" style="clip-path:${style}" ${more}/>`;
const LINED = 'stroke="#00c" stroke-width="10"';

const SHAPES: Readonly<Record<string, string>> = {
  "circle, percent of the diagonal": box("circle(30%)"),
  "circle to the nearest side, with the line": box("circle(closest-side)", LINED),
  "circle to the farthest side": box("circle(farthest-side at 30% 50%)"),
  "circle without the line": box("circle() fill-box", LINED),
  "circle in the view": box("circle(40%) view-box"),
  "ellipse from other sides": box("ellipse(20px 50% at right 10px top 60%)"),
  "inset with corners": box("inset(5px 10% 4px round 8px 4px / 20%) fill-box"),
  "a rectangle by its sides": box("rect(5px 50px auto 10% round 6px)"),
  "a rectangle by its size": box("xywh(5px 10% 60% 20px round 50%)"),
  "a star, even-odd": box("polygon(evenodd, 50% 0, 80% 100%, 0 40%, 100% 40%, 20% 100%)"),
  "a path": box("path(&quot;M0 0h30l20 40h-40z&quot;)"),
  "a box": box("fill-box", LINED),
  "an attribute with plain numbers": '<rect x="20" y="10" width="60" height="40" clip-path="circle(20 at 40 20)"/>',
  "a group with lines": `<g style="clip-path:circle(45%)" stroke="#060" stroke-width="6" stroke-linejoin="round"><path d="M10 60L50 10L90 60Z" fill="#fc0"/><circle cx="80" cy="80" r="12" fill="#09c"/></g>`,
  "sharp corners": `<path style="clip-path:inset(10% 20% 30% 10%)" stroke="#060" stroke-width="8" d="M20 80L50 20L80 80Z" fill="#fc0"/>`,
  "square ends": `<path d="M20 20L70 60" stroke="#000" stroke-width="10" stroke-linecap="square" style="clip-path:inset(10%)"/>`,
  "a turned shape": `<g transform="rotate(20 50 50) scale(.8)"><rect x="20" y="20" width="60" height="40" transform="translate(5 5)" style="clip-path:ellipse()" fill="#c0c"/></g>`,
  "a use in another place": `<defs><rect id="q" width="40" height="30" fill="#090"/></defs><use href="#q" x="30" y="30" style="clip-path:circle(50%)"/>`,
  "nothing left": `${box("circle(0)")}<circle cx="5" cy="5" r="4"/>`,
};

const CELL = 200;
const asDesigned = (body: string, size: string): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" ${size} viewBox="0 0 100 100">${body}<path id="cut" d="M0 0H100V100H0Z" fill="none"/></svg>`;
const artOf = async (body: string) => {
  const { piece, findings } = await pieceOf(asDesigned(body, 'width="100mm" height="100mm"'));
  const art = piece?.artwork;
  return { svg: art?.kind === "drawing" ? art.svg : "", findings };
};

describe.runIf(existsSync(CHROMIUM) || oracle("chromium"))("clips by shapes, as Chromium draws them", () => {
  it("all of them", async () => {
    const bodies = Object.values(SHAPES);
    const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS });
    let shot: Buffer;
    try {
      const page = await browser.newPage({ viewport: { width: CELL, height: CELL * bodies.length } });
      const all = bodies.map((body, i) =>
        asDesigned(body.replaceAll(/(["#])q"/g, `$1q${i}"`), `width="${CELL}" height="${CELL}" style="display:block"`),
      );
      await page.setContent(`<body style="margin:0">${all.join("")}</body>`);
      shot = await page.screenshot();
    } finally {
      await browser.close();
    }
    const theirs = await sharp(shot).removeAlpha().raw().toBuffer();
    const different: Record<string, number> = {};
    for (const [i, [name, body]] of Object.entries(SHAPES).entries()) {
      const { svg, findings } = await artOf(body);
      expect([name, findings.filter(({ level }) => level === "error")]).toEqual([name, []]);
      // The artwork shows the bleed too; the view is set back to the card.
      const card = svg.replace(/width="[^"]*" height="[^"]*" viewBox="[^"]*"/, 'viewBox="0 0 100 100"');
      const drawn = new Resvg(card, { fitTo: { mode: "width", value: CELL }, background: "#fff" }).render().pixels;
      let count = 0;
      for (let at = 0; at < CELL * CELL; at++)
        if (
          [0, 1, 2].some(
            (c) => Math.abs((drawn[4 * at + c] as number) - (theirs[3 * (i * CELL * CELL + at) + c] as number)) > 100,
          )
        )
          count++;
      if (count > 0) different[name] = count;
    }
    expect(different).toEqual({});
  });
});

describe("clips by shapes", () => {
  it.each([
    [
      "a circle in the middle of the box",
      "circle(10px)",
      "M60 30A10 10 0 0 1 50 40A10 10 0 0 1 40 30A10 10 0 0 1 50 20A10 10 0 0 1 60 30Z",
    ],
    ["a length of the trade", "inset(25.4mm 0 0)", ""],
    ["points in millimetres and percent", "polygon(0 0, 100% 0, 50% 2.54mm)", "M20 10L80 10L50 19.6Z"],
  ])("%s", async (_, shape, outline) => {
    const { svg, findings } = await artOf(`${box(shape)}<circle r="3"/>`);
    expect(findings.filter(({ level }) => level === "error")).toEqual([]);
    const path = outline === "" ? "" : `<path d="${outline}"/></clipPath>`;
    expect(svg).toContain(`<clipPath id="clip-shape-1"${path === "" ? "/>" : `>${path}`}`);
    expect(svg).toContain("clip-path:url(#clip-shape-1)");
  });

  const TEXT = '<text y="9" style="clip-path:circle(9px)">Hello</text>';
  it.each([
    ["text, whose box nobody knows yet", TEXT, "known only once the text is set"],
    ["what is not known", box("shape(from 0 0, hline to 10px)"), "shape(from 0 0"],
    ["a plain number in a style", box("circle(9)"), "circle(9)"],
    ["a sum", box("circle(calc(9px + 1%))"), "calc"],
    ["path data with a fault", box("path('M0 0 L')"), "path"],
    [
      "in a pattern",
      `<pattern id="p" width="9" height="9">${box("circle()")}</pattern><rect width="9" height="9" fill="url(#p)"/>`,
      "stands in a pattern",
    ],
    [
      "in places of different sizes",
      `<svg width="50" height="20"><use href="#a"/></svg><g>${box("circle(9%) view-box", 'id="a"')}</g>`,
      "wherever the element is used",
    ],
    [
      "lines through a use",
      `<defs><rect id="q" width="40" height="30"/></defs><use href="#q" stroke="red" style="clip-path:circle()"/>`,
      "through a <use>",
    ],
  ])("refused by name: %s", async (_, body, why) => {
    const { findings } = await artOf(body);
    const errors = findings.filter(({ level }) => level === "error");
    expect(errors).toMatchObject([{ rule: "value-not-drawn", message: expect.stringContaining(why) }]);
  });
});
