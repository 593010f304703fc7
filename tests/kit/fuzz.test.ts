// Drawings broken at random: a finding or a piece, never an exception.
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { pieceOf } from "../support/kits.ts";

const RICH = `<?xml version="1.0" encoding="UTF-8"?><!-- c --><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:e="urn:e" width="90mm" height="60mm" viewBox="0 0 90 60" preserveAspectRatio="xMidYMid meet"><style type="text/css"><![CDATA[.a>b,.c:not(#d){fill:#fff!important;stroke-width:2mm}@media screen{rect{x:1px}}]]></style><defs><linearGradient id="g"><stop offset="5%" stop-color="#fff"/></linearGradient><clipPath id="k"><use href="#cut"/></clipPath><symbol id="s" viewBox="0 0 6 6"><circle cx="3" cy="3" r="3"/></symbol></defs><e:note e:x="1"/><g id="cut" transform="translate(1,-2) rotate(4 5 6)"><path d="M1 1h50a5 5 0 01.5.5V40l-9-9C1 2 3 4 5 6s1 2 3 4Q1 2 3 4t5 6z"/><rect x="1mm" y="10%" width="3em" height="4pt" rx="1"/><ellipse cx="1" cy="2" rx="3" ry="4"/><polyline points="1,2 3-4.5.5 6"/><line x1="1" y1="2" x2="3" y2="4"/><use xlink:href="#s" x="9" width="5" height="5"/></g><svg x="5" y="5" width="9" height="9" viewBox="0 0 1 1"><polygon points="0 0 1 0 1 1" style="transform:scale(.5);display:inline"/></svg><switch><g systemLanguage="no"/><g clip-path="url(#k)"><image href="data:image/png;base64,iVBORw0KGgo=" width="9" height="9"/><text font-family="X">t &amp; <tspan>u</tspan></text></g></switch></svg>`;

const MORE = {
  lines: { cutting: "#cut", creasing: ".a, e\\:note, [x]" },
  artwork: "g",
  size: [90, 60],
  slots: [{ slot: "s", box: [1, 1, 5, 5] }],
};

const judged = async (svg: string, more: Readonly<Record<string, unknown>> = MORE): Promise<void> => {
  const { piece, findings } = await pieceOf(svg, more);
  expect(piece !== undefined || findings.length > 0).toBe(true);
  for (const f of findings) expect(f.message.length + f.hint.length).toBeGreaterThan(10);
};

/** Every quoted value of the drawing, as where it begins and ends. */
const VALUES = [...RICH.matchAll(/="([^"]*)"/g)].map((m) => [m.index + 2, m.index + m[0].length - 1] as const);

describe("a drawing broken at random", () => {
  it("with stretches cut out, doubled or swapped", async () => {
    const place = fc.nat(RICH.length);
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.constantFrom("cut", "double", "insert"), place, fc.nat(60), fc.string()), {
          minLength: 1,
          maxLength: 4,
        }),
        async (edits) => {
          let svg = RICH;
          for (const [kind, at, length, text] of edits) {
            const middle = svg.slice(at, at + length);
            svg =
              svg.slice(0, at) +
              (kind === "cut" ? "" : kind === "double" ? middle + middle : text + middle) +
              svg.slice(at + length);
          }
          await judged(svg);
        },
      ),
      { numRuns: 200, seed: 21 },
    );
  });
  it("with any one value replaced", async () => {
    const piece = fc.constantFrom(
      "0",
      "-",
      ".",
      "1e9",
      "1e999",
      "NaN",
      "%",
      "mm",
      "url(#cut)",
      "#cut",
      "#g",
      "(",
      ")",
      ",",
      " ",
      "M",
      "A",
      "z",
      "none",
      "translate(",
      "inherit",
      "\u0660",
      "px",
      "e5",
      "}",
      "/*",
      "'",
      "!important",
    );
    const value = fc.oneof(
      fc.array(piece, { maxLength: 6 }).map((p) => p.join("")),
      fc.string().map((s) => s.replace(/["&<]/g, "")),
    );
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...VALUES), value, async ([from, to], text) => {
        await judged(RICH.slice(0, from) + text + RICH.slice(to));
      }),
      { numRuns: 200, seed: 22 },
    );
  });
  it("with any selector", async () => {
    const token = fc.constantFrom(
      "#cut",
      ".a",
      "g",
      ">",
      "~",
      "+",
      " ",
      ",",
      ":not(",
      ":has(",
      ":is(",
      ")",
      ":nth-child(2n+1)",
      "[x]",
      "[x=",
      '"',
      "*",
      "::",
      "|",
      "\\",
      ":root",
      ":empty",
      ":contains(t)",
    );
    await fc.assert(
      fc.asyncProperty(
        fc.array(token, { minLength: 1, maxLength: 7 }).map((t) => t.join("")),
        async (selector) => {
          await judged(RICH, { ...MORE, lines: { cutting: selector }, artwork: selector });
        },
      ),
      { numRuns: 200, seed: 23 },
    );
  });
});
