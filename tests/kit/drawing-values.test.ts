// What a drawing says in ways that renderers of artwork read otherwise or not at all: settled, or refused by name. Each was a
// fault that went to print without a word.
import { describe, expect, it } from "vitest";
import { kitOf, pieceOf, svgMm } from "../support/kits.ts";

const CUT = '<rect id="cut" width="50" height="50"/>';
const artOf = async (body: string) => {
  const { piece, findings, rules } = await pieceOf(svgMm(50, 50, `${CUT}${body}`));
  const art = piece?.artwork;
  return { svg: art?.kind === "drawing" ? art.svg : "", art, findings, rules };
};
const RECT = (more: string): string => `<rect width="50" height="50" ${more}/>`;

describe("colours of a press", () => {
  it.each([
    ["SVG 1.1", RECT('fill="#CD853F icc-color(acmecmyk, 0.11, 0.48, 0.83, 0.00)"'), /fill="#CD853F"/],
    ["a style", RECT('style="fill:#cd853f icc-color(a, .1)"'), /fill:#cd853f"/i],
    ["CSS Color 5 with a fallback", RECT('fill="device-cmyk(0 1 1 0, #c00)"'), /fill="#c00"/],
    [
      "a gradient's stop",
      `<linearGradient id="g"><stop stop-color="red device-cmyk(0,1,1,0)"/></linearGradient>${RECT('fill="url(#g)"')}`,
      /stop-color="red"/,
    ],
  ])("keep the screen colour beside them: %s", async (_, body, written) => {
    const { svg, findings } = await artOf(body);
    expect(findings).toMatchObject([{ level: "note", rule: "colour-of-screen" }]);
    expect(svg).toMatch(written);
  });

  it.each([
    ["inks alone", "device-cmyk(0 1 1 0)"],
    ["a space of another device", "color(--press 0.1 0.2 0.3)"],
    ["a space that is not known", "color(a98-rgb 0.1 0.2 0.3)"],
    ["a colour made from another", "oklch(from red l c h)"],
    ["a mixture", "color-mix(in srgb, red, blue)"],
  ])("%s is refused by name", async (_, colour) => {
    const { findings } = await artOf(RECT(`style="fill:${colour}"`));
    expect(findings).toMatchObject([
      { level: "error", rule: "colour-not-drawn", message: expect.stringContaining(colour) },
    ]);
  });

  // Values from CSS Color 4, worked by hand: hwb(120 20% 20%) is green lifted by 0.2 and scaled by 0.6.
  it.each([
    ["hwb(120 20% 20%)", "rgb(51,204,51)"],
    ["rgb(100% 0% 0% / 50%)", "rgba(255,0,0,0.5)"],
    ["hsl(0.5turn 100% 50%)", "rgb(0,255,255)"],
    ["rgba(1, 2, 3, .25)", "rgba(1,2,3,0.25)"],
    // The green #008000 in each space, and what lies beyond sRGB at its edge (values of CSS Color 4's test suite, from memory).
    ["lab(46.277% -47.562 48.583)", "rgb(0,128,0)"],
    ["lch(46.277% 67.989 134.391)", "rgb(0,128,0)"],
    ["oklab(51.975% -0.1403 0.10768)", "rgb(0,128,0)"],
    ["oklch(0.51975 0.17686 142.495deg)", "rgb(0,128,0)"],
    ["color(display-p3 0.21604 0.49418 0.13151)", "rgb(0,128,0)"],
    ["color(srgb-linear 0 0.21586 0 / 50%)", "rgba(0,128,0,0.5)"],
    ["color(srgb 0 0.50196 0)", "rgb(0,128,0)"],
    ["color(display-p3 1 0 0)", "rgb(255,0,0)"],
    ["lab(100 0 0)", "rgb(255,255,255)"],
    ["oklch(0 none none)", "rgb(0,0,0)"],
  ])("%s is written plainly", async (colour, plain) => {
    const { svg, findings } = await artOf(RECT(`fill="${colour}"`));
    expect(findings).toEqual([]);
    expect(svg).toContain(`fill="${plain}"`);
  });
});

describe("variables", () => {
  it("are settled where they are used, with their fallbacks and down the tree", async () => {
    const { svg, findings } = await artOf(
      `<style>svg{--brand:#0a0;--deep:var(--brand)} .b{--brand:#00a}</style>${RECT('style="fill:var(--deep)"')}<g class="b">${RECT('fill="var(--brand)" stroke="var(--no, var(--brand, red))"')}</g>`,
    );
    expect(findings).toEqual([]);
    expect(svg).toContain("fill:#0a0");
    expect(svg).toMatch(/fill="#00a" stroke="#00a"/);
    expect(svg).not.toContain("var(");
  });

  it("that nobody sets leave the default, and are told", async () => {
    const { svg, findings } = await artOf(RECT('fill="#fff" style="stroke:var(--none)"'));
    expect(findings).toMatchObject([{ level: "warning", rule: "variable-unset" }]);
    expect(svg).not.toContain("stroke");
  });

  it("that double thirty times over are no work", async () => {
    const doubling = Array.from({ length: 30 }, (_, i) => `--v${i}:var(--v${i + 1}) var(--v${i + 1})`).join(";");
    const { rules } = await artOf(`<g style="${doubling};--v30:red">${RECT('style="fill:var(--v0)"')}</g>`);
    expect(rules).toEqual(["variable-unset"]);
  });
});

describe("the font shorthand", () => {
  // Worked by hand from CSS Fonts 4, 2.7.
  it.each([
    [
      'bold 20px "Lora"',
      { "font-weight": "bold", "font-size": "20px", "font-family": '"Lora"', "font-style": "normal" },
    ],
    [
      "italic small-caps 600 condensed 1.5em/2 Lora, serif",
      {
        "font-style": "italic",
        "font-variant": "small-caps",
        "font-weight": "600",
        "font-stretch": "condensed",
        "font-size": "1.5em",
        "font-family": "Lora, serif",
      },
    ], // prettier-ignore
    ["12pt Lora; font-weight: bold", { "font-weight": "bold", "font-size": "16px", "font-family": "Lora" }],
  ])("is written as its single properties: %s", async (font, wanted) => {
    const { svg } = await artOf(`<text style='font:${font}'>x</text>`);
    const style = /<text style="([^"]*)"/.exec(svg)?.[1]?.replaceAll("&quot;", '"') ?? "";
    const declared = Object.fromEntries(style.split(";").map((one) => one.split(":") as [string, string]));
    expect(declared).toMatchObject(wanted);
    expect(declared).not.toHaveProperty("font");
  });
});

describe("what no renderer here draws", () => {
  it.each([
    ["a computed width", '<rect width="calc(10px + 5px)" height="9"/>', "value-not-drawn"],
    ["a mask that is a gradient", RECT('style="mask-image:linear-gradient(#000,transparent)"'), "value-not-drawn"],
    ["a mesh", `<meshgradient id="m"/>${RECT('fill="url(#m) #ccc"')}`, "paint-not-drawn"],
    ["a hatch", `<hatch id="h"/>${RECT('style="stroke:url(#h)"')}`, "paint-not-drawn"],
    [
      "flowed text",
      "<flowRoot><flowRegion><rect width='9' height='9'/></flowRegion><flowPara>Hello</flowPara></flowRoot>",
      "text-flowed",
    ],
    ["wrapped text", '<text style="inline-size:30px" y="9">Words that wrap</text>', "text-flowed"],
    ["text in a shape", '<text style="shape-inside:url(#cut)">Words that wrap</text>', "text-flowed"],
    [
      "HTML",
      '<foreignObject width="9" height="9"><p xmlns="http://www.w3.org/1999/xhtml">x</p>.</foreignObject>',
      "element-refused",
    ],
  ])("%s is refused by name", async (_, body, rule) => {
    const { findings } = await artOf(body);
    expect(findings.map((f) => `${f.level} ${f.rule}`)).toEqual([`error ${rule}`]);
  });

  it("wrapped text whose lines have places of their own is drawn by them", async () => {
    const { rules } = await artOf(
      '<text style="inline-size:30px"><tspan x="1" y="9">Words</tspan><tspan x="1" y="18">that wrap</tspan></text>',
    );
    expect(rules).toEqual([]);
  });

  it("a paint that the drawing does not have is told", async () => {
    const { findings } = await artOf(RECT('stroke="red" fill="url(#gone)"'));
    expect(findings).toMatchObject([{ level: "warning", rule: "paint-missing" }]);
  });

  it("a path's outline in a style is one to us too", async () => {
    const { svg, rules } = await artOf(`<path style="d:path('M1 2h30v30z');fill:red"/>`);
    expect(rules).toEqual([]);
    expect(svg).toContain('d="M1 2h30v30z"');
  });
});

describe("what editors leave", () => {
  const bare = `width="50mm" height="50mm" viewBox="0 0 50 50"><rect id="cut" width="50" height="50"/>`;
  it.each([
    [
      "a document type",
      `<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg xmlns="http://www.w3.org/2000/svg" ${bare}</svg>`,
    ],
    [
      "plain entities",
      `<!DOCTYPE svg [<!-- c --><!ENTITY ns "http://www.w3.org/2000/svg"><!ENTITY five '5'><!ENTITY w "&five;0"><!ATTLIST svg a CDATA "b>c">]><svg xmlns="&ns;" width="&w;mm" height="&#53;0mm" viewBox="0 0 50 50"><rect id="cut" width="&w;" height="50"/></svg>`,
    ],
    [
      "a switch with HTML for others",
      `<svg xmlns="http://www.w3.org/2000/svg" ${bare}<switch><foreignObject requiredExtensions="http://ns.adobe.com/AdobeIllustrator/10.0/" width="1" height="1">x</foreignObject><g><rect width="9" height="9"/></g></switch></svg>`,
    ],
    [
      "fonts, profiles and empty frames",
      `<svg xmlns="http://www.w3.org/2000/svg" ${bare}<defs><font><font-face font-family="A"/></font><color-profile name="a"/></defs><flowRoot><flowPara/></flowRoot><foreignObject width="0" height="0">x</foreignObject><metadata>m</metadata></svg>`,
    ],
    [
      "an editor's own, its declaration lost",
      `<svg xmlns="http://www.w3.org/2000/svg" sodipodi:docname="a" ${bare}<sodipodi:namedview><path d="M0"/></sodipodi:namedview><g inkscape:label="a"><rect width="9" height="9"/></g></svg>`,
    ],
  ])("%s is passed over", async (_, svg) => {
    const { rules, piece } = await pieceOf(svg);
    expect(rules).toEqual([]);
    expect(piece?.size).toEqual({ width: 50_000, height: 50_000 });
  });

  it.each([
    ["names a file", '<!ENTITY a SYSTEM "file:///etc/passwd">'],
    ["has parameters", '<!ENTITY % a "b">'],
    ["contains itself", '<!ENTITY a "&b;"><!ENTITY b "&a;">'],
    ["holds elements", '<!ENTITY a "<rect/>">'],
  ])("an entity that %s is refused", async (_, subset) => {
    const svg = `<!DOCTYPE svg [${subset}]><svg xmlns="http://www.w3.org/2000/svg" ${bare}</svg>`;
    expect((await pieceOf(svg)).rules).toEqual(["doctype-refused"]);
  });

  it("a small entity used without end is refused within 100 ms", async () => {
    const svg = `<!DOCTYPE svg [<!ENTITY a "${"x".repeat(9000)}">]><svg xmlns="http://www.w3.org/2000/svg" ${bare}<text>${"&a;".repeat(50_000)}</text></svg>`;
    const before = process.cpuUsage();
    const { rules } = await pieceOf(svg);
    const { user } = process.cpuUsage(before);
    expect(rules).toEqual(["doctype-refused"]);
    expect(user / 1000).toBeLessThan(100);
  });
});

describe("pictures of a drawing", () => {
  const png = Buffer.from(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg==",
    "base64",
  );
  const draw = (href: string, files: Record<string, string | Uint8Array>) =>
    kitOf(
      { kit: "k", pieces: [{ piece: "p", drawing: "art/p.svg", stock: "card", lines: { cutting: "#cut" } }] },
      {
        "art/p.svg": svgMm(50, 50, `${CUT}<image id="i" width="40" height="20" x="5" y="5" href="${href}"/>`),
        ...files,
      },
    );
  const inner =
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><rect width="2" height="1" fill="red"/></svg>';

  it("beside it are read, with where and how large they are drawn", async () => {
    const { value, findings } = await draw("./my%20picture.png", { "art/my picture.png": png });
    expect(findings).toEqual([]);
    const art = value?.pieces[0]?.artwork;
    expect(art).toMatchObject({ svg: expect.stringContaining(`data:image/png;base64,${png.toString("base64")}`) });
    expect(art?.pictures).toMatchObject([{ name: '<image id="i">', nth: 0, at: [25, 15], size: [40_000, 20_000] }]);
  });
  it("that are drawings are read like drawings", async () => {
    const { value, findings } = await draw("in.svg", { "art/in.svg": inner });
    expect(findings).toEqual([]);
    const art = value?.pieces[0]?.artwork;
    const svg = art?.kind === "drawing" ? art.svg : "";
    expect(svg).toContain('fill="red"');
  });
  it.each([
    ["outside the kit", "../../etc/passwd", {}, "external-reference"],
    ["on a network", "https://example.org/p.png", {}, "external-reference"],
    ["that are not there", "no.png", {}, "external-reference"],
    ["that are GIF", "p.gif", { "art/p.gif": "GIF89a" }, "data-image-refused"],
    [
      "that are drawings with a script",
      "in.svg",
      { "art/in.svg": inner.replace("<rect", "<script>1</script><rect") },
      "script-refused",
    ],
  ])("%s are refused", async (_, href, files, rule) => {
    const { findings, asked } = await draw(href, files);
    expect(findings.map((f) => f.rule)).toEqual([rule]);
    expect(asked.every((path) => path.startsWith("art/"))).toBe(true);
  });
  it("that name themselves come to an end", async () => {
    const loop = inner.replace("<rect", '<image width="1" height="1" href="in.svg"/><rect');
    const { findings } = await draw("in.svg", { "art/in.svg": loop });
    expect(findings.length).toBeGreaterThan(0);
  });
});

describe("a drawing that is not XML says why, and where, in plain words", () => {
  const svg = (inner: string): string => `<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">\n${inner}`;
  it.each([
    ["cut off", svg("<g>"), "<g> is opened and never closed; perhaps the file is cut off (line 2)"],
    ["a tag too many", svg("</g></svg>"), "a tag is closed that was not opened (line 2)"],
    ["a bare &", svg("<text>A&nbsp;B</text></svg>"), "a plain & is written &amp; (line 2)"],
    ["an attribute twice", svg('<g id="a" id="b"/></svg>'), "the attribute id is given twice (line 2)"],
    ["an attribute without quotes", svg("<g id=a/></svg>"), 'an attribute is not written as name="value" (line 2)'],
    ["a strange first line", `<?xml version="one"?>${svg("</svg>")}`, "its first line, <?xml ... ?>, is not written"],
    ["no drawing", "hello", "it is not one <svg> with everything in it"],
  ])("%s", async (_, text, words) => {
    const { findings } = await pieceOf(text);
    expect(findings).toMatchObject([{ rule: "drawing-broken", message: expect.stringContaining(words) }]);
  });

  it.each([
    ["#", 'a name is missing at "#"'],
    ["#cut:nope", ":nope is not known"],
    ["g:has(", "a bracket is not closed"],
    ["g::before", "pseudo-elements choose no element of a drawing"],
  ])("and so does a selector: %s", async (selector, words) => {
    const { findings } = await pieceOf(svgMm(50, 50, CUT), { lines: { cutting: selector } });
    expect(findings[0]).toMatchObject({ rule: "selector-bad", message: expect.stringContaining(words) });
  });
});

describe('"scale": "fit"', () => {
  const drawing = (w: number, h: number): string =>
    `<svg xmlns="http://www.w3.org/2000/svg" width="${w}mm" height="${h}mm" viewBox="0 0 100 50"><rect id="cut" width="100" height="50"/></svg>`;
  it("scales a drawing of 72 to the inch to its size, and says so", async () => {
    const { piece, findings } = await pieceOf(drawing(75, 37.5), { size: [100, 50], scale: "fit" });
    expect(findings).toMatchObject([{ level: "note", rule: "size-fitted" }]);
    expect(piece?.size).toEqual({ width: 100_000, height: 50_000 });
    expect(piece?.lines[0]?.points).toContainEqual({ x: 100_000, y: 50_000 });
  });
  it("refuses other proportions as before", async () => {
    expect((await pieceOf(drawing(75, 40), { size: [100, 50], scale: "fit" })).rules).toEqual(["size-disagrees"]);
  });
});

it.each([
  ["GIF89a", "a GIF"],
  ["8BPS", "PSD"],
  ["%!PS-Adobe-3.0 EPSF-3.0", "EPS"],
  ["\u001f\u008b\b", "SVGZ"],
  ["\u0000\u0000\u0000\u0018ftypheic", "HEIC"],
])("an artwork file is called what it is: %s", async (start, name) => {
  const pieces = [
    {
      piece: "p",
      drawing: "p.svg",
      stock: "c",
      lines: { cutting: "#cut" },
      artwork: { file: "a.png", box: [0, 0, 9, 9] },
    },
  ];
  const { findings } = await kitOf(
    { kit: "k", pieces },
    {
      "p.svg": svgMm(50, 50, CUT),
      "a.png": Uint8Array.from(start, (sign) => sign.charCodeAt(0)),
    },
  );
  expect(findings).toMatchObject([{ rule: "artwork-unknown", message: expect.stringContaining(name) }]);
});

describe("what no reader can read is named: it was black, at 0 or not there without a word", () => {
  it.each([
    ["an element that SVG has not", '<hircle cx="5" cy="5" r="4"/>', "element-unknown", '"circle"'],
    ["a misspelt property", '<path d="M0 0h9v9z" fdll="#0a0"/>', "attribute-misspelt", '"fill"'],
    ["a misspelt property of a style", '<path d="M0 0h9v9z" style="storke:#0a0"/>', "attribute-misspelt", '"stroke"'],
    ["a misspelt place", '<circle ax="5" cy="5" r="4"/>', "attribute-misspelt", '"cx"'],
    ["a colour", RECT('fill="#12g456"'), "value-ignored", "a colour is expected"],
    ["a colour of a style", RECT('style="fill:bluf"'), "value-ignored", "a colour is expected"],
    ["a colour behind a paint", RECT('fill="url(#cut) 7"'), "value-ignored", "a colour is expected"],
    ["a length", '<circle cx="5,1" cy="5" r="4"/>', "value-ignored", "a length is expected"],
    ["an opacity", RECT('opacity="0.5=2"'), "value-ignored", "a number is expected"],
    ["dashes", '<path d="M0 0h9" stroke="#000" stroke-dasharray="1 x"/>', "value-ignored", "lengths are expected"],
    ["a rule", '<path d="M0 0h9v9z" fill-rule="evenoff"/>', "value-ignored", "nonzero, evenodd"],
    ["an outline", '<path d="M0 0L9 9 J 3 3"/>', "value-ignored", "drawn up to the fault"],
    ["a clip that is gone", RECT('clip-path="url(#gone)"'), "reference-missing", '"#gone"'],
    ["a use of nothing", '<rect width="9" height="9"/><use href="#gone"/>', "reference-missing", '"#gone"'],
    ["a clip by a word that is none", RECT('clip-path="u$l(#cut)"'), "value-ignored", "url() is expected"],
    ["a short name", '<path d="M0 0h9v9z" fil="#0a0"/>', "attribute-misspelt", '"fill"'],
    ["a lost bracket", '<rect width="9" height="9"/>path d="M0 0"/&gt;', "text-stray", "path d="],
  ])("%s", async (_, body, rule, words) => {
    const { findings } = await artOf(body);
    const found = findings.filter((one) => one.rule === rule);
    expect(found, JSON.stringify(findings)).toHaveLength(1);
    expect(found[0]).toMatchObject({ level: "warning", message: expect.stringContaining(words) });
  });

  it("among lines too, which would not be cut", async () => {
    const group = '<g id="cut"><rect width="50" height="50"/><pDth d="M9 9h9v9z"/></g>';
    const { findings } = await pieceOf(svgMm(50, 50, group));
    expect(findings).toMatchObject([
      { level: "warning", rule: "element-unknown", message: expect.stringContaining('"path"') },
    ]);
  });

  it("is not what programs write: no false alarm", async () => {
    const body = `<g fill="none" stroke="currentColor" stroke-linejoin="arcs" aria-label="a" data-fill="x" style="-inkscape-stroke:none;text-align:center;marker:none">
      <path d="M0 0h9v9z" fill="#ABCDEF80" stroke-dasharray="none" stroke-width="1.5pt" opacity="50%" fill-opacity="1e-1"/>
      <rect width="auto" height="9" x="1em" fill="rgb(10%, 20%, 30%)" stroke="inherit" rx="auto"/>
      <text x="1 2 3" y="9,8" font-family="Noto Sans">a<tspan dx="1,2">b</tspan></text><line x1="1" y1="1" x2="5%" y2="5"/>
      <linearGradient id="g" gradientTransform="rotate(30)" spreadMethod="pad"><stop offset="0%" stop-color="hsl(20,30%,40%)"/></linearGradient>
      <polygon points="0,0 9 0 9,9" fill="url(#g) none" clip-rule="evenodd" visibility="visible" marker-end="none"/></g>`;
    const { findings } = await artOf(body);
    const rules = /^(element-unknown|attribute-misspelt|value-ignored|reference-missing|text-stray)$/;
    expect(findings.filter(({ rule }) => rules.test(rule)).map(({ message }) => message)).toEqual([]);
  });
});
