// Every rule about the lines and slots of a piece, with one drawing just inside it and one just outside.
// Limits: standards sheet 7.6 (ends within 0.01 mm are one, within 0.1 mm joined with a warning), common practice, no source.
import { describe, expect, it } from "vitest";
import { dots, kitOf, pieceOf, svgMm } from "../support/kits.ts";

const RECT = '<rect id="cut" width="100" height="60"/>';
const ALL = { cutting: "#cut", creasing: ".crease", perforating: ".perf", partialCutting: ".kiss" };

/** A piece of 100 x 60 mm with lines of other operations on it. */
const withLine = (kind: keyof typeof ALL, shape: string, cut = RECT) =>
  pieceOf(svgMm(100, 60, cut + shape), { lines: { cutting: "#cut", [kind]: ALL[kind] }, artwork: null });
/** A piece whose cutting layer is drawn by hand. */
const cutting = (shapes: string) => pieceOf(svgMm(100, 60, `<g id="cut">${shapes}</g>`), { artwork: null });
const path = (d: string) => `<path d="${d}"/>`;

describe("contour-open and contour-nearly-closed", () => {
  const gap = (mm: number) => cutting(path(`M0 0H100V60H0V${mm}`));
  it.each([
    [0, []],
    [0.01, []],
    [0.011, ["contour-nearly-closed"]],
    [0.1, ["contour-nearly-closed"]],
    [0.101, ["contour-open"]],
    [5, ["contour-open"]],
  ])("ends %f mm apart: %j", async (mm, rules) => {
    const { findings } = await gap(mm);
    const met = findings.map((f) => f.rule).filter((r) => r.startsWith("contour-"));
    expect(met).toEqual(rules);
  });
  it("tells the gap and both ends", async () => {
    const { findings } = await gap(0.4);
    expect(findings.find((f) => f.rule === "contour-open")).toMatchObject({
      level: "error",
      where: { kit: "k", piece: "p", operation: "cutting", at: [0, 0] },
      message: "A cutting contour is open: its ends at (0, 0) and (0, 0.4) are 0.4 mm apart.",
      hint: expect.stringMatching(/Join/),
    });
  });
  it("tells one gap between two lines once", async () => {
    const { findings } = await cutting(`${path("M0 0H100V60")}${path("M0 0V60H99")}`);
    expect(findings.filter((f) => f.rule === "contour-open")).toMatchObject([
      { message: expect.stringContaining("1 mm apart") },
    ]);
  });
  it("takes an open cut inside the outline for a slit", async () => {
    const { piece, rules } = await cutting(`${path("M0 0H100V60H0z")}${path("M20 20H50")}${path("M0 40H10")}`);
    expect(rules).toEqual([]);
    expect(piece?.lines.filter((l) => !l.closed).map(dots)).toEqual([
      [
        [20, 20],
        [50, 20],
      ],
      [
        [0, 40],
        [10, 40],
      ],
    ]);
    expect(piece?.parts[0]?.openings).toEqual([]);
  });
  it("takes an open cut that nearly goes round for a contour left open", async () => {
    expect((await cutting(`${path("M0 0H100V60H0z")}${path("M20 20H40V40H20V30")}`)).rules).toEqual(["contour-open"]);
    // Half its length apart: a U of 10 + 20 + 10 with ends 20 apart is a slit, with longer legs it is not.
    expect((await cutting(`${path("M0 0H100V60H0z")}${path("M20 20V30H40V20")}`)).rules).toEqual([]);
    expect((await cutting(`${path("M0 0H100V60H0z")}${path("M20 20V31H40V20")}`)).rules).toEqual(["contour-open"]);
  });
  it("cut-outside: a slit ends at the edge, give or take 0.1 mm", async () => {
    expect((await cutting(`${path("M0 0H100V60H0z")}${path("M-0.1 40H10")}`)).rules).toEqual([]);
    expect((await cutting(`${path("M0 0H100V60H0z")}${path("M-0.2 40H10")}`)).findings).toMatchObject([
      { rule: "cut-outside", where: { at: [-0.2, 40] }, message: expect.stringContaining("0.2 mm") },
    ]);
  });
});

describe("contours that cross", () => {
  it("contour-crosses-itself", async () => {
    expect((await cutting(path("M0 0H100V60H50V0.1z"))).rules).toEqual([]);
    const eight = await cutting(path("M0 0L100 60V0L0 60z"));
    expect(eight.findings).toMatchObject([
      { rule: "contour-crosses-itself", where: { at: [50, 30] }, message: expect.stringContaining("once") },
    ]);
  });
  it("contours-cross", async () => {
    const hole = (x: number) =>
      cutting(`<rect width="100" height="60"/><rect x="${x}" y="20" width="20" height="20"/>`);
    expect((await hole(79)).rules).toEqual([]);
    expect((await hole(81)).findings).toMatchObject([
      {
        rule: "contours-cross",
        level: "error",
        where: { at: [100, 20] },
        message: expect.stringContaining("2 places"),
      },
    ]);
  });
  it("touching corners do not cross", async () => {
    expect((await cutting('<rect width="40" height="30"/><rect x="40" y="30" width="40" height="30"/>')).rules).toEqual(
      [],
    );
  });
});

describe("line-doubled", () => {
  it("drops an exact copy with a warning", async () => {
    const { findings, piece } = await cutting('<rect width="100" height="60"/><path d="M0 0V60H100V0z"/>');
    expect(findings).toMatchObject([
      { rule: "line-doubled", level: "warning", message: expect.stringContaining("320 mm") },
    ]);
    expect(piece?.lines).toHaveLength(1);
    expect(piece?.parts[0]?.openings).toEqual([]);
  });
  // What a drawing program makes of a layer copied onto itself: joined end to end, two slits are a ring around nothing.
  it.each([
    ["slit", 'd="M20 20L60 30"', 'd="M20 20L60 30"', 1],
    ["slit the other way", 'd="M20 20L60 30"', 'd="M60 30L20 20"', 1],
    ["slit with a corner", 'd="M20 20L60 30V50"', 'd="M20 20L60 30V50"', 1],
    ["slit in short strokes", 'd="M20 20h.3m0 0h.3m0 0h.3"', 'd="M20 20h.3m0 0h.3m0 0h.3"', 1],
  ] as const)("cuts a %s that is drawn twice once, and says so", async (_, one, two, slits) => {
    const { findings, piece } = await cutting(`<rect width="100" height="60"/><path ${one}/><path ${two}/>`);
    expect(findings).toMatchObject([
      { rule: "line-doubled", level: "warning", message: expect.stringContaining("left out") },
    ]);
    expect(piece?.lines.filter(({ closed }) => !closed)).toHaveLength(slits);
  });
  it("finds a copy of a curve flattened the other way round", async () => {
    const { rules, piece } = await cutting(
      '<circle cx="50" cy="30" r="25"/><path d="M50.003 5a25 25 0 0 0 0 50a25 25 0 0 0 0-50z"/>',
    );
    expect(rules).toEqual(["line-doubled"]);
    expect(piece?.lines).toHaveLength(1);
  });
  it("is an error where two contours share an edge, and not where they stand 0.05 mm apart", async () => {
    const panels = (x: number) => cutting(`<rect width="40" height="60"/><rect x="${x}" width="40" height="60"/>`);
    expect((await panels(40)).findings).toMatchObject([
      { rule: "line-doubled", level: "error", message: expect.stringContaining("60 mm") },
    ]);
    expect((await panels(40.05)).rules).toEqual([]);
  });
  it("counts half a millimetre and not less", async () => {
    expect((await withLine("creasing", '<path class="crease" d="M0 0H0.4"/>')).rules).toEqual([]);
    expect((await withLine("creasing", '<path class="crease" d="M0 0H0.6"/>')).findings).toMatchObject([
      { rule: "line-doubled", level: "warning", message: expect.stringContaining("creasing line and a cutting line") },
    ]);
  });
  it("says where a crease runs back on itself, and cuts a slit drawn there and back once", async () => {
    const back = await withLine("creasing", '<path class="crease" d="M20 20H60H40"/>');
    expect(back.findings).toMatchObject([
      { rule: "line-retraced", level: "warning", message: expect.stringContaining("20 mm"), where: { at: [60, 20] } },
    ]);
    expect((await withLine("creasing", '<path class="crease" d="M20 20H60L20 20.5"/>')).rules).toEqual([]);
    const { rules, piece } = await cutting('<rect width="100" height="60"/><path d="M20 20L60 30L20 20"/>');
    expect(rules).toEqual([]);
    expect(piece?.lines.filter(({ closed }) => !closed).map(({ points }) => points.length)).toEqual([2]);
  });
  it("minds no lines that only cross", async () => {
    expect((await withLine("creasing", '<path class="crease" d="M0 20H100M30 0V60"/>')).rules).toEqual([]);
  });
});

describe("openings", () => {
  it("finds outlines and openings, several parts in one piece", async () => {
    const { piece, rules } = await cutting(
      '<rect width="40" height="60"/><circle cx="20" cy="30" r="10"/><rect x="50" width="40" height="60"/>',
    );
    expect(rules).toEqual([]);
    expect(piece?.parts.map((p) => p.openings.length)).toEqual([1, 0]);
  });
  it("opening-outside: a contour in an opening is cut out of nothing", async () => {
    const { findings } = await cutting(
      '<rect width="100" height="60"/><rect x="10" y="10" width="40" height="40"/><rect x="20" y="20" width="10" height="10"/>',
    );
    expect(findings).toMatchObject([
      { rule: "opening-outside", where: { at: [20, 20] }, message: expect.stringContaining("100 mm2") },
    ]);
  });
  it("outline-missing", async () => {
    expect((await cutting(path("M10 10H90"))).rules).toEqual(["outline-missing"]);
    // Two halves that nearly meet are an open contour, and that is all there is to tell.
    expect((await cutting(path("M10 10H90V50") + path("M90 50.4H10V10"))).rules).toEqual(["contour-open"]);
    expect((await pieceOf(svgMm(9, 9, RECT), { lines: { cutting: "#none" } })).rules).toEqual([
      "selector-finds-nothing",
    ]);
    expect((await pieceOf(svgMm(9, 9, RECT), { lines: {} })).rules).toEqual(["outline-missing"]);
  });
  it("contour-tiny", async () => {
    const dot = (r: number) => cutting(`<rect width="100" height="60"/><circle cx="50" cy="30" r="${r}"/>`);
    expect((await dot(0.26)).rules).toEqual([]);
    expect((await dot(0.24)).findings).toMatchObject([{ rule: "contour-tiny", level: "warning" }]);
  });
});

describe("lines on the piece", () => {
  it.each([
    ["creasing", "crease", "crease-outside"],
    ["perforating", "perf", "perforation-outside"],
    ["partialCutting", "kiss", "partial-cut-outside"],
  ] as const)("%s may end on the edge, give or take 0.1 mm", async (kind, name, rule) => {
    expect((await withLine(kind, `<path class="${name}" d="M-.1 30H100.1"/>`)).rules).toEqual([]);
    expect((await withLine(kind, `<path class="${name}" d="M-.3 30H100"/>`)).findings).toMatchObject([
      { rule, level: "error", where: { at: [-0.3, 30], operation: kind }, message: expect.stringContaining("0.3 mm") },
    ]);
  });
  it("a crease across an opening is outside there", async () => {
    const cut = '<g id="cut"><rect width="100" height="60"/><rect x="40" y="20" width="20" height="20"/></g>';
    expect((await withLine("creasing", '<path class="crease" d="M0 30H40M60 30H100"/>', cut)).rules).toEqual([]);
    expect((await withLine("creasing", '<path class="crease" d="M0 30H100"/>', cut)).findings).toMatchObject([
      { rule: "crease-outside", message: expect.stringContaining("20 mm, by up to") },
    ]);
  });
  it("kiss cuts inside are no openings", async () => {
    const { piece, rules } = await withLine("partialCutting", '<circle class="kiss" cx="50" cy="30" r="20"/>');
    expect(rules).toEqual([]);
    expect(piece?.parts[0]?.openings).toEqual([]);
    expect(piece?.lines.map((l) => l.operation)).toEqual(["partialCutting", "cutting"]);
  });
});

describe("selectors", () => {
  it("selector-finds-nothing names what is there", async () => {
    const { findings } = await pieceOf(svgMm(9, 9, '<rect id="cat" width="9" height="9"/>'));
    expect(findings[0]).toMatchObject({
      rule: "selector-finds-nothing",
      where: { operation: "cutting" },
      hint: "The drawing has #cat.",
    });
  });
  it.each(["#", ":nope", "[a", "a::before", ""])("selector-bad: %j", async (selector) => {
    const { rules } = await pieceOf(svgMm(9, 9, RECT), { lines: { cutting: selector } });
    expect(["selector-bad", "field-wrong"]).toContain(rules[0]);
  });
  it("lines-empty", async () => {
    expect((await pieceOf(svgMm(9, 9, '<g id="cut"/>'))).rules).toEqual(["lines-empty"]);
    expect((await pieceOf(svgMm(9, 9, '<defs><rect id="cut" width="9" height="9"/></defs>'))).rules).toContain(
      "lines-empty",
    );
  });
  it("selects as CSS does: child, not, attribute with a prefix", async () => {
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" xmlns:i="urn:x" width="99mm" height="99mm"><g i:label="cuts"><path d="M0 0h99v99z"/><path class="no" d="M9 9h1v1z"/></g></svg>`;
    const { lines } = await pieceOf(svg, { lines: { cutting: '[i\\:label="cuts"] > path:not(.no)' } });
    expect(lines).toHaveLength(1);
  });
  it("line-two-operations", async () => {
    const { rules } = await pieceOf(svgMm(100, 60, RECT), { lines: { cutting: "#cut", creasing: "rect" } });
    expect(rules).toContain("line-two-operations");
  });
  it("the nearest selected element decides", async () => {
    const { lines } = await pieceOf(svgMm(100, 60, `<g id="all">${RECT}<path class="crease" d="M0 30H100"/></g>`), {
      lines: { cutting: "#all", creasing: ".crease" },
    });
    expect(lines.map((l) => l.operation)).toEqual(["creasing", "cutting"]);
  });
  it("operation-unknown", async () => {
    const { rules } = await pieceOf(svgMm(100, 60, RECT), { lines: { cutting: "#cut", gluing: "#glue" } });
    expect(rules).toEqual(["operation-unknown"]);
  });
});

describe("lines that cannot be seen", () => {
  const style = (css: string, on: "cut" | "g" = "cut") =>
    pieceOf(
      svgMm(
        100,
        60,
        `<clipPath id="c"><rect width="10" height="10"/></clipPath><mask id="m"/><g ${on === "g" ? `style="${css}"` : ""}><rect id="cut" width="100" height="60" ${on === "cut" ? `style="${css}"` : ""}/></g>`,
      ),
      { artwork: null },
    );
  it.each([
    ["display:none", "line-hidden"],
    ["visibility:hidden", "line-hidden"],
    ["visibility:collapse", "line-hidden"],
    ["clip-path:url(#c)", "line-clipped"],
    ["mask:url(#m)", "line-clipped"],
  ])("%s is refused by name, on the line and around it", async (css, rule) => {
    for (const on of ["cut", "g"] as const) {
      const { findings } = await style(css, on);
      expect(findings.find((f) => f.rule === rule)?.message).toContain('<rect id="cut">');
    }
  });
  it.each(["stroke:none;fill:none", "opacity:0", "display:inline", "clip-path:none", "visibility:visible"])(
    "%s makes it no less a line",
    async (css) => {
      expect((await style(css)).rules).toEqual([]);
    },
  );
  it("visibility is taken back further down", async () => {
    const svg = svgMm(
      100,
      60,
      '<g visibility="hidden"><rect id="cut" visibility="visible" width="100" height="60"/></g>',
    );
    expect((await pieceOf(svg)).rules).toEqual([]);
  });
  it("a hidden shape in a selected group is refused", async () => {
    expect((await cutting('<rect width="100" height="60"/><circle display="none" r="5"/>')).rules).toEqual([
      "line-hidden",
    ]);
  });
  it("a nested viewport cuts lines off, unless its overflow shows", async () => {
    const nested = (more: string) =>
      cutting(`<svg width="50" height="60" ${more}><rect width="60" height="60"/></svg>`);
    expect((await nested("")).rules).toContain("line-clipped");
    expect((await nested('overflow="visible"')).rules).toEqual([]);
  });
  // As LibreOffice 7.4, pdftocairo 22.12 and gnuplot write a page's clip around all that is on it.
  it.each([
    ["a rect", '<rect width="100" height="60"/>'],
    ["a closed path", '<path d="M0 0L100 0L100 60L0 60L0 0Z M0 0"/>'],
    ["a moved rect", '<rect x="10" y="-5" width="100" height="70" transform="translate(-10)"/>'],
    ["a use", '<use href="#frame"/>'],
  ])("a clip to %s around a whole line takes nothing from it", async (_, inner) => {
    const clipped = async (shape: string) => {
      const clip = `<defs><rect id="frame" width="100" height="60"/><clipPath id="page">${inner}</clipPath></defs>`;
      return pieceOf(svgMm(100, 60, `${clip}<g clip-path="url(#page)">${shape}</g>`), { artwork: null });
    };
    const whole = await clipped(RECT);
    expect(whole.rules).toEqual([]);
    expect(whole.piece?.lines).toHaveLength(1);
    const beyond = (await clipped('<rect id="cut" x="1" width="99.2" height="60"/>')).findings;
    expect(beyond).toMatchObject([
      { rule: "line-clipped", where: { at: [100.2, 0] }, message: expect.stringContaining("the clip on <g>") },
    ]);
  });
  it.each([
    ["a circle", '<circle cx="50" cy="30" r="90"/>'],
    ["two rects", '<rect width="100" height="60"/><rect width="100" height="60"/>'],
    ["a slanted rect", '<rect x="-90" y="-90" width="300" height="300" transform="skewX(5)" rx="1"/>'],
    ["nothing", ""],
    ["a hidden rect", '<rect width="100" height="60" display="none"/>'],
    ["a clipped rect", '<rect width="100" height="60" clip-path="url(#page)"/>'],
    ["shares of its box", '<rect width="1" height="1"/>', "objectBoundingBox"],
  ])("a clip to %s is refused as before", async (_, inner, units = "userSpaceOnUse") => {
    const clip = `<clipPath id="page" clipPathUnits="${units}">${inner}</clipPath>`;
    expect(
      (await pieceOf(svgMm(100, 60, `${clip}<g clip-path="url(#page)">${RECT}</g>`), { artwork: null })).rules,
    ).toEqual(["line-clipped"]);
  });
  it("text and pictures are no lines", async () => {
    expect((await cutting('<rect width="100" height="60"/><text y="20">A</text>')).rules).toEqual(["line-not-a-shape"]);
  });
});

describe("slots", () => {
  const slot = (box: number[], more = {}) =>
    pieceOf(svgMm(100, 60, `${RECT}<path class="crease" d="M0 40H100"/>`), {
      lines: { cutting: "#cut", creasing: ".crease" },
      slots: [{ slot: "name", box, ...more }],
    });
  it("slot-outside", async () => {
    expect((await slot([3, 3, 94, 30])).rules).toEqual([]);
    expect((await slot([3, 3, 97.05, 30], { safe: 0 })).rules).toEqual([]);
    expect((await slot([3, 3, 97.2, 30], { safe: 0 })).findings).toMatchObject([
      { rule: "slot-outside", level: "warning", where: { slot: "name" }, message: expect.stringContaining("0.2 mm") },
    ]);
    // Over the cut it is told once, not a second time as too near it.
    expect((await slot([3, 3, 97.2, 30], { safe: 2 })).rules).toEqual(["slot-outside"]);
    expect((await slot([3, 30, 99, 8.5], { safe: 2 })).rules).toEqual(["slot-outside", "slot-too-near"]);
  });
  it("slot-outside: a box that is nowhere on paper can hold no text", async () => {
    expect((await slot([101, 3, 40, 30])).findings).toMatchObject([
      { rule: "slot-outside", level: "error", where: { at: [101, 3] }, message: expect.stringContaining("wholly") },
    ]);
    const holed = svgMm(
      100,
      60,
      `<g id="cut"><rect width="100" height="60"/><rect x="20" y="10" width="60" height="40"/></g>`,
    );
    const inOpening = await pieceOf(holed, { slots: [{ slot: "name", box: [30, 20, 40, 20] }] });
    expect(inOpening.findings).toMatchObject([{ rule: "slot-outside", level: "error" }]);
  });
  it("slot-too-near a cut or a crease, crossing it or beside it", async () => {
    expect((await slot([2, 2, 50, 36])).rules).toEqual([]);
    expect((await slot([1.9, 2, 50, 36])).findings).toMatchObject([
      {
        rule: "slot-too-near",
        level: "warning",
        message: expect.stringContaining("1.9 mm of a cutting line; safe is 2 mm"),
      },
    ]);
    expect((await slot([3, 3, 50, 36])).findings).toMatchObject([
      { rule: "slot-too-near", message: expect.stringContaining("creasing") },
    ]);
    expect((await slot([3, 30, 50, 20])).findings).toMatchObject([
      { rule: "slot-too-near", message: expect.stringContaining("0 mm") },
    ]);
  });
  it("slot-sizes", async () => {
    expect((await slot([3, 3, 50, 30], { size: 10, leastSize: 10 })).rules).toEqual([]);
    expect((await slot([3, 3, 50, 30], { size: 10, leastSize: 11 })).rules).toEqual(["slot-sizes"]);
  });
});

it("findings come in the same order every time, all at once", async () => {
  const kit = {
    kit: "k",
    pieces: ["b", "a"].map((piece) => ({
      piece,
      drawing: `${piece}.svg`,
      stock: "s",
      lines: { cutting: "#cut", creasing: "#no" },
    })),
  };
  const files = { "a.svg": svgMm(9, 9, "<g id='cut'><path d='M0 0L9 9V0L0 9z'/></g>"), "b.svg": "<svg" };
  const [one, two] = [await kitOf(kit, files), await kitOf(kit, files)];
  expect(one.findings).toEqual(two.findings);
  expect(one.findings.map((f) => `${f.where.piece} ${f.rule}`)).toEqual([
    "b drawing-broken",
    "a selector-finds-nothing",
    "a contour-crosses-itself",
  ]);
});
