// Paper is a colour: white at the cut bleeds white. Pieces with white at the cut in every form artwork comes in; beyond the
// cut there is no ink where there is none within 0.3 mm inside, and full bleed where there is.
import type { Contour, Outline } from "@kitforme/geometry";
import type { Artwork } from "@kitforme/kit";
import { type Layer, prepare } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { drawing, file, page, piece, press, PT, square } from "./artwork-samples.ts";

/** Whether ink is drawn at a place, mm. */
type Drawn = (x: number, y: number) => boolean;

type Ring = readonly (readonly [x: number, y: number])[];

interface Sample {
  /** Black, even-odd, millimetres. */
  readonly rings: readonly Ring[];
  readonly ink: Drawn;
  /** The cut is a circle of 18 mm; else a square of 20 mm. */
  readonly disc?: boolean;
}

const rectangle = (at: number): Ring => [
  [at, at],
  [20 - at, at],
  [20 - at, 20 - at],
  [at, 20 - at],
];
const frame = (at: number, wide = 0.8): Sample => ({
  rings: [rectangle(at), rectangle(at + wide)],
  ink: (x, y) => {
    const depth = Math.min(x, y, 20 - x, 20 - y);
    return depth >= at && depth < at + wide;
  },
});
const ringOf = (r: number): Ring =>
  Array.from({ length: 360 }, (_, i) => {
    const angle = (i * Math.PI) / 180;
    return [10 + r * Math.cos(angle), 10 + r * Math.sin(angle)] as const;
  });
const sticker = (rim: number): Sample => ({
  rings: [ringOf(9 - rim)],
  ink: (x, y) => Math.hypot(x - 10, y - 10) <= 9 - rim,
  disc: true,
});
/** A slanting stripe, 3 mm wide, that runs to a height: 20 is the cut, more is its own bleed. */
const stripe = (to: number): Sample => ({
  rings: [
    [
      [6, 10],
      [9, 10],
      [9 + (to - 10) / 4, to],
      [6 + (to - 10) / 4, to],
    ],
  ],
  ink: (x, y) => y >= 10 && y <= to && x >= 6 + (y - 10) / 4 && x <= 9 + (y - 10) / 4,
});
const CORNERS = [0, 20].flatMap((x) => [0, 20].map((y) => [x, y] as const));
const ornaments = (away: number): Sample => ({
  rings: CORNERS.map(([x, y]) => {
    const [cx, cy] = [x ? 20 - away : away, y ? 20 - away : away];
    const [dx, dy] = [x ? -4 : 4, y ? -4 : 4];
    return [
      [cx, cy],
      [cx + dx, cy],
      [cx, cy + dy],
    ] as const;
  }),
  ink: (x, y) => {
    const [u, v] = [Math.min(x, 20 - x) - away, Math.min(y, 20 - y) - away];
    return u >= 0 && v >= 0 && u + v <= 4;
  },
});

const SAMPLES: Readonly<Record<string, Sample>> = {
  "a frame at 0.2 mm": frame(0.2),
  "a frame at 0.5 mm": frame(0.5),
  "a frame at 1 mm": frame(1),
  "a frame at 2 mm": frame(2),
  "a frame at 4 mm": frame(4),
  "a round sticker, 0.2 mm of white": sticker(0.2),
  "a round sticker with a white rim of 0.5 mm": sticker(0.5),
  "a round sticker with a white rim of 1.5 mm": sticker(1.5),
  "corner ornaments that meet the cut": ornaments(0),
  "corner ornaments at 0.8 mm": ornaments(0.8),
  "a stripe that runs off": stripe(23),
  "a stripe that ends at the cut": stripe(20),
  "a stripe that ends 0.2 mm short": stripe(19.8),
  "a stripe that ends 0.6 mm short": stripe(19.4),
};

const WHITE: Ring = [
  [-9, -9],
  [31, -9],
  [31, 31],
  [-9, 31],
];
const CARD: Ring = rectangle(0);
const shape = (rings: readonly Ring[], fill = "#000"): string =>
  `<path fill-rule="evenodd" fill="${fill}" d="${rings.map((ring) => `M${ring.map((p) => p.join(" ")).join("L")}z`).join("")}"/>`;
const white = shape([WHITE], "#fff");
const around = { x: -3000, y: -3000, width: 26_000, height: 26_000 };
/** 26 mm at 305 ppi. */
const picture = (body: string): ReturnType<typeof sharp> =>
  sharp(
    Buffer.from(`<svg xmlns="http://www.w3.org/2000/svg" width="312" height="312" viewBox="-3 -3 26 26">${body}</svg>`),
  );
/** Content of a PDF page whose lower left corner is that of the card. */
const content = (rings: readonly Ring[], ink: string): string =>
  `${ink} k ${rings.map((ring) => `${ring.map(([x, y], i) => `${PT(x)} ${PT(20 - y)} ${i ? "l" : "m"}`).join(" ")} h`).join(" ")} f*`;

const FORMS: Readonly<Record<string, (rings: readonly Ring[]) => Promise<Artwork>>> = {
  "a drawing": (rings) => Promise.resolve(drawing(shape(rings))),
  "a drawing on a white ground": (rings) => Promise.resolve(drawing(white + shape(rings))),
  "a drawing on a white ground as large as the card": (rings) =>
    Promise.resolve(drawing(shape([CARD], "#fff") + shape(rings))),
  "a PNG with alpha": async (rings) => file("png", await picture(shape(rings)).png().toBuffer(), around),
  "a PNG on white": async (rings) =>
    file(
      "png",
      await picture(white + shape(rings))
        .removeAlpha()
        .png()
        .toBuffer(),
      around,
    ),
  "a JPEG": async (rings) =>
    file(
      "jpeg",
      await picture(white + shape(rings))
        .removeAlpha()
        .jpeg({ quality: 90 })
        .toBuffer(),
      around,
    ),
  "a TIFF in inks": async (rings) =>
    file(
      "tiff",
      await picture(white + shape(rings))
        .removeAlpha()
        .toColourspace("cmyk")
        .tiff({ compression: "deflate" })
        .toBuffer(),
      around,
    ),
  "a TIFF in inks, packed as JPEG": async (rings) =>
    file(
      "tiff",
      await picture(white + shape(rings))
        .removeAlpha()
        .toColourspace("cmyk")
        .tiff({ compression: "jpeg", quality: 90 })
        .toBuffer(),
      around,
    ),
  "a PDF page": async (rings) => file("pdf", await page(content(rings, "0 0 0 1"))),
  "a PDF page with a white ground": async (rings) =>
    file("pdf", await page(`${content([WHITE], "0 0 0 0")} ${content(rings, "0 0 0 1")}`)),
};

const circle: Contour<"drawing"> = Array.from({ length: 360 }, (_, i) => ({
  x: Math.round(10_000 + 9000 * Math.cos((i * Math.PI) / 180)),
  y: Math.round(10_000 + 9000 * Math.sin((i * Math.PI) / 180)),
}));

const odd = (rings: readonly Contour<"drawing">[], x: number, y: number): boolean => {
  let inside = false;
  for (const ring of rings)
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length] as typeof a;
      if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
    });
  return inside;
};

/** Ink of the topmost layer at a place in mm, percent of the strongest; 0 where nothing is painted. */
const inkAt = async (layers: readonly Layer[]): Promise<(x: number, y: number) => number> => {
  // A page on top shows its own shapes, which end where the artwork does; what lies under it is the bleed.
  const opened = (
    await Promise.all(
      layers.map(async (layer) => {
        if (layer.kind !== "raster") return [];
        const { data, space, width } = layer.raster;
        const bytes = data.kind === "jpeg" ? new Uint8Array(await sharp(data.bytes).raw().toBuffer()) : data.bytes;
        return [{ layer, bytes, width, height: layer.raster.height, space }];
      }),
    )
  ).flat();
  return (x, y) => {
    const [px, py] = [x * 1000, y * 1000];
    const top = opened.findLast(({ layer: { box, clip } }) => {
      const within = px >= box.x && px < box.x + box.width && py >= box.y && py < box.y + box.height;
      return within && (!clip || odd(clip, px, py));
    });
    if (!top) return 0;
    const { box } = top.layer;
    const channels = { grey: 1, rgb: 3, cmyk: 4 }[top.space];
    const column = Math.floor(((px - box.x) / box.width) * top.width);
    const row = Math.floor(((py - box.y) / box.height) * top.height);
    const at = (row * top.width + column) * channels;
    const values = [...top.bytes.subarray(at, at + channels)];
    return Math.max(...values.map((v) => (100 * (top.space === "cmyk" ? v : 255 - v)) / 255));
  };
};

/** For a place outside: the nearest place of the cut, and the way inward. */
const cutOf = (disc: boolean, x: number, y: number): { cut: [number, number]; inward: [number, number] } => {
  if (disc) {
    const r = Math.hypot(x - 10, y - 10);
    const [ux, uy] = [(x - 10) / r, (y - 10) / r];
    return { cut: [10 + 9 * ux, 10 + 9 * uy], inward: [-ux, -uy] };
  }
  const cut: [number, number] = [Math.min(20, Math.max(0, x)), Math.min(20, Math.max(0, y))];
  const away = Math.hypot(cut[0] - x, cut[1] - y);
  return { cut, inward: [(cut[0] - x) / away, (cut[1] - y) / away] };
};

/** What a place outside must print: nothing, the artwork's ink, or, within a tenth of a millimetre of where that changes, either. */
const wanted = ({ ink, disc = false }: Sample, x: number, y: number): "paper" | "ink" | "either" => {
  const { cut, inward } = cutOf(disc, x, y);
  const [tx, ty] = [-inward[1], inward[0]];
  let some = false;
  let all = true;
  for (let along = -0.3; along <= 0.31; along += 0.05) {
    let met = false;
    for (let deep = 0.02; deep <= 0.42; deep += 0.04) {
      const here = ink(cut[0] + along * tx + deep * inward[0], cut[1] + along * ty + deep * inward[1]);
      if (here) some = true;
      if (here && deep <= 0.3) met = true;
    }
    if (!met) all = false;
  }
  return all ? "ink" : some ? "either" : "paper";
};

describe.each(Object.keys(FORMS))("white at the cut, %s", (form) => {
  it.each(Object.keys(SAMPLES))("%s", async (name) => {
    const sample = SAMPLES[name] as Sample;
    const parts: Outline<"drawing">[] = [{ outer: sample.disc ? circle : square(0, 0, 20), openings: [] }];
    const artwork = await (FORMS[form] as (rings: readonly Ring[]) => Promise<Artwork>)(sample.rings);
    const { value, findings } = await prepare(piece(artwork, { parts }), { ...press(), resolution: 300 });
    if (!value) throw new Error(JSON.stringify(findings));
    const printed = await inkAt(value.layers);
    const wrong: string[] = [];
    const seen = { ink: 0, paper: 0, either: 0 };
    for (let x = -1.87; x < 22; x += 0.09)
      for (let y = -1.87; y < 22; y += 0.09) {
        const away = sample.disc
          ? Math.hypot(x - 10, y - 10) - 9
          : Math.hypot(Math.max(0, -x, x - 20), Math.max(0, -y, y - 20));
        if (away < 0.1 || away > 1.85) continue;
        const want = wanted(sample, x, y);
        seen[want]++;
        // The designer's own bleed of a slanting stripe goes its own way.
        if (want === "either" || (name === "a stripe that runs off" && want === "ink")) continue;
        const ink = printed(x, y);
        if (want === "paper" ? ink > 0 && !nearInk(sample, x, y) : ink < 60)
          wrong.push(`${x.toFixed(2)},${y.toFixed(2)}: ${ink.toFixed(0)} %, not ${want}`);
      }
    expect(seen.ink + seen.paper).toBeGreaterThan(2000);
    expect(wrong.slice(0, 5).concat(wrong.length > 5 ? [`${wrong.length} in all`] : [])).toEqual([]);
  });
});

/** Own bleed that the designer has drawn beyond the cut stays, its anti-aliased edge included. */
const nearInk = ({ ink }: Sample, x: number, y: number): boolean =>
  [-0.2, 0, 0.2].some((dx) => [-0.2, 0, 0.2].some((dy) => ink(x + dx, y + dy)));
