// How findings are made and gathered: every rule has its words, all end alike, one cause is one finding with its places.
import fc from "fast-check";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import {
  error,
  type Finding,
  furtherPlacesInWords,
  groupFindings,
  note,
  placeInWords,
  placesOf,
  sayer,
  type Words,
} from "@kitforme/kit";

interface TrialFacts {
  thin: { readonly mm: number };
  plain: Record<never, never>;
}
const WORDS: Words<TrialFacts> = {
  thin: ({ mm }) => error(`The bridge is ${mm} mm wide`, "Widen it."),
  plain: () => note("Nothing to see!", " Go on "),
};
const say = sayer(WORDS);
const thin = (piece: string, mm: number, kit = "k"): Finding => say("thin", { kit, piece, at: [1, 2] }, { mm });

describe("sayer", () => {
  it("gives a rule's words with their place, each sentence with a stop at its end", () => {
    expect(say("thin", { kit: "k" }, { mm: 2 })).toEqual({
      level: "error",
      rule: "thin",
      where: { kit: "k" },
      message: "The bridge is 2 mm wide.",
      hint: "Widen it.",
    });
    expect(say("plain", {}, {})).toMatchObject({ message: "Nothing to see!", hint: "Go on." });
  });
  it("does not compile for a rule without words or with the wrong facts", () => {
    // @ts-expect-error no such rule
    expect(() => say("thick", {}, { mm: 1 })).toThrow();
    // @ts-expect-error the fact is missing
    expect(say("thin", {}, {}).message).toContain("undefined");
    // @ts-expect-error a record that lacks a rule's words
    const lacking: Words<TrialFacts> = { thin: WORDS.thin };
    expect(Object.keys(lacking)).toEqual(["thin"]);
  });
});

describe("groupFindings", () => {
  const card = (n: number): string => `card-${String(n).padStart(2, "0")}`;
  const cards = Array.from({ length: 24 }, (_, i) => thin(card(i + 1), 0.5));

  it("makes 24 cards with the same fault one finding with 24 places", () => {
    const [one, ...others] = groupFindings(cards);
    expect(others).toEqual([]);
    expect(one).toMatchObject({ where: { kit: "k", piece: "card-01" }, message: "The bridge is 0.5 mm wide." });
    expect(one?.places).toHaveLength(24);
    expect(one?.places?.[23]).toEqual({ kit: "k", piece: "card-24", at: [1, 2] });
    expect(furtherPlacesInWords(one as Finding)).toBe(
      "also: piece card-02; piece card-03; piece card-04; piece card-05; piece card-06; piece card-07; and 17 more places",
    );
  });
  it("keeps the numbers of each place", () => {
    const [one] = groupFindings([thin("a", 0.5), thin("b", 0.7)]);
    expect(one?.places).toEqual([
      { kit: "k", piece: "a", at: [1, 2] },
      { kit: "k", piece: "b", at: [1, 2], message: "The bridge is 0.7 mm wide." },
    ]);
    expect(furtherPlacesInWords(one as Finding)).toBe("also: piece b: The bridge is 0.7 mm wide.");
  });
  it("leaves apart what another has to correct: other kits, other orders, other names in quotes", () => {
    expect(groupFindings([thin("a", 1), thin("a", 1, "l")])).toHaveLength(2);
    const gone = sayer({ gone: ({ name }: { name: string }) => error(`No "${name}".`, "Add it.") });
    const [one, two] = ["cut1", "cut2"].map((name) => gone("gone", { kit: "k" }, { name }));
    expect(groupFindings([one, two] as Finding[])).toHaveLength(2);
  });
  it("keeps pictures of one, and sides apart", () => {
    const views = [{ title: "as drawn", png: "AA==" }];
    const [one, ...others] = groupFindings([thin("a", 1), { ...thin("b", 1), views }]);
    expect([one?.views, others]).toEqual([views, []]);
    const behind = { ...thin("a", 1), where: { ...thin("a", 1).where, side: "back" as const } };
    expect(groupFindings([thin("a", 1), behind])).toHaveLength(2);
    expect(placeInWords(behind.where)).toContain("piece a, the back, at");
  });
  it("loses no place, and grouping again changes nothing", () => {
    const finding = fc
      .record({
        piece: fc.constantFrom("a", "b", "c"),
        mm: fc.integer({ min: 0, max: 3 }),
        kit: fc.constantFrom("k", "l"),
        more: fc.option(fc.integer({ min: 1, max: 9 }), { nil: undefined }),
      })
      .map(({ piece, mm, kit, more }): Finding => ({ ...thin(piece, mm, kit), ...(more ? { more } : {}) }));
    fc.assert(
      fc.property(fc.array(finding, { maxLength: 30 }), (all) => {
        const grouped = groupFindings(all);
        const met = (findings: readonly Finding[]) =>
          new Set(
            findings.flatMap((f) => placesOf(f).map((p) => JSON.stringify([p.kit, p.piece, p.message ?? f.message]))),
          );
        expect(met(grouped)).toEqual(met(all));
        const uncounted = (findings: readonly Finding[]) => findings.reduce((sum, f) => sum + (f.more ?? 0), 0);
        expect(uncounted(grouped)).toBe(uncounted(all));
        expect(groupFindings(grouped)).toEqual(grouped);
        expect(grouped.length).toBeLessThanOrEqual(2);
      }),
    );
  });
});

it("placeInWords tells a place from the outside in, and what cannot be seen as its number", () => {
  expect(placeInWords({ at: [1, 2.25], kit: "k\u202e", piece: "p", field: "pieces[0]" })).toBe(
    "kit k\\u202e, piece p, at 1.0 / 2.3 mm",
  );
});

it("no finding is made but by a sayer", () => {
  const root = join(import.meta.dirname, "../..");
  const files = ["packages", "worker"].flatMap((top) =>
    readdirSync(join(root, top), { recursive: true, encoding: "utf8" })
      .map((path) => join(top, path))
      .filter((path) => /\/src\/.*\.ts$/.test(path) && !/node_modules|dist/.test(path)),
  );
  expect(files.length).toBeGreaterThan(200);
  // An object with a rule, a message and a hint, written out; taking one apart, or naming its type, is another matter.
  const makers = files.filter((file) => {
    const text = readFileSync(join(root, file), "utf8").replace(
      /const \{[^{}]*\} =|\(\{[^{}]*\}[^{}()]*\) =>|for \(const \{[^{}]*\}|interface Finding \{[^}]*\}/g,
      "",
    );
    return /\brule\b[:,][\s\S]{0,400}?\bmessage\b[:,][\s\S]{0,600}?\bhint\b(:|,?\s*\})/.test(text);
  });
  const allowed = ["kit/src/words/sentence.ts", "kit/src/group-findings.ts"];
  expect(makers.filter((file) => !allowed.some((end) => file.endsWith(end)))).toEqual([]);
});
