import { toMm } from "@kitforme/geometry";
import { checkKit, readShop } from "@kitforme/kit";
import { describe, expect, it } from "vitest";
import { bytes, kitOf, pieceOf, svgMm } from "../support/kits.ts";
import { SHOP } from "../support/shelf.ts";

const CUT = '<path id="cut" d="M10 0H70V30H10Z"/>';
const svg = svgMm(
  80,
  40,
  `${CUT}<rect id="art" width="80" height="40" fill="#abc"/><g id="behind"><rect width="80" height="40" fill="#cba"/></g>`,
);
const live = (transform: string): string =>
  svgMm(80, 40, `${CUT}<g id="behind"><text transform="${transform}" x="20" y="20">Boat</text></g>`);

describe("the back of a piece", () => {
  it("is what its selector finds, and then not the front's unless that asks for it", async () => {
    const { piece, rules } = await pieceOf(svg, { back: { artwork: "#behind" } });
    expect(rules).toEqual([]);
    const of = (artwork: unknown): string => (artwork as { svg: string }).svg;
    expect(of(piece?.artwork)).toContain("#abc");
    expect(of(piece?.artwork)).not.toContain("#cba");
    expect(of(piece?.back?.artwork)).toContain("#cba");
    expect(of(piece?.back?.artwork)).not.toContain("#abc");
    expect(piece?.back?.mirror).toBeUndefined();
    const both = await pieceOf(svg, { artwork: "#art, #behind", back: { artwork: "#behind" } });
    expect(of(both.piece?.artwork)).toContain("#cba");
  });

  it("is turned over about the middle of the outline when drawn as its reader sees it; a file within its box", async () => {
    const { piece } = await pieceOf(svg, { back: { artwork: "#behind", seen: "back" } });
    expect(toMm(piece?.back?.mirror ?? 0)).toBe(80);
    const form = {
      piece: "p",
      drawing: "p.svg",
      stock: "card",
      lines: { cutting: "#cut" },
      back: { seen: "back", artwork: { file: "b.svg", box: [12, 2, 30, 20] } },
    };
    const files = { "p.svg": svg, "b.svg": svgMm(30, 20, '<rect width="30" height="20" fill="#123"/>') };
    const { value } = await kitOf({ kit: "k", pieces: [form] }, files);
    // 12..42 behind the front are 38..68 for its reader.
    expect(value?.pieces[0]?.back?.artwork?.box).toEqual({ x: 38_000, y: 2000, width: 30_000, height: 20_000 });
  });

  it("has slots of its own among the piece's, and may have nothing else", async () => {
    const slot = { slot: "name", box: [20, 5, 40, 10] };
    const { piece, rules } = await pieceOf(svg, { slots: [slot], back: { slots: [{ ...slot, safe: 1 }] } });
    expect(rules).toEqual([]);
    expect(piece?.slots.map(({ slot: name, side, safe }) => [name, side, safe])).toEqual([
      ["name", undefined, 2000],
      ["name", "back", 1000],
    ]);
    expect(piece?.back).toEqual({ artwork: null });
  });

  it("is warned of where live text in it will read mirrored, at its place", async () => {
    const told = async (seen: string, transform: string) => {
      const { findings } = await pieceOf(live(transform), { artwork: null, back: { artwork: "#behind", seen } });
      return findings
        .filter(({ rule }) => rule === "back-text-mirrored")
        .map(({ level, where }) => [level, where.side, where.at]);
    };
    const over = "matrix(-1 0 0 1 80 0)";
    expect(await told("front", "")).toEqual([["warning", "back", [20, 20]]]);
    expect(await told("back", "")).toEqual([]);
    expect(await told("front", over)).toEqual([]);
    expect(await told("back", over)).toEqual([["warning", "back", [20, 20]]]);
  });

  it("tells faults of it with their place", async () => {
    const { findings } = await pieceOf(svg, {
      back: { artwork: "#none", seen: "left", slots: [{ slot: "a/b", box: [20, 5, 40, 10] }] },
    });
    expect(findings.map(({ rule, where }) => [rule, where.field])).toEqual([["field-wrong", "pieces[0].back.seen"]]);
    const more = await pieceOf(svg, {
      back: { artwork: "#none", sen: "back", slots: [{ slot: "a/b", box: [20, 5, 40, 10], font: "x.ttf" }] },
    });
    expect(more.findings.map(({ rule, where }) => `${rule} ${where.field ?? ""}`).sort()).toEqual([
      "field-unknown pieces[0].back.sen",
      "file-missing pieces[0].back.slots[0].font",
      "name-bad pieces[0].back.slots[0].slot",
      "selector-finds-nothing ",
    ]);
  });

  it("needs a press that prints both sides", async () => {
    const rulesOn = async (stock: string, press: object) => {
      const { value: shop } = readShop({ ...SHOP, presses: { digital: { ...SHOP.presses.digital, ...press } } });
      const form = { piece: "p", drawing: "p.svg", stock, lines: { cutting: "#cut" }, artwork: null };
      const { value } = await kitOf(
        { kit: "k", pieces: [{ ...form, back: { artwork: "#behind" } }] },
        { "p.svg": bytes(svg) },
      );
      if (!shop || !value) throw new Error("unread");
      return checkKit(value, shop).map(({ level, rule, where }) => `${level} ${rule} ${where.side}`);
    };
    expect(await rulesOn("card", {})).toEqual(["error back-not-printed back"]);
    expect(await rulesOn("card", { sides: 1 })).toEqual(["error back-not-printed back"]);
    expect(await rulesOn("board", { sides: 2 })).toEqual(["error back-not-printed back"]);
    expect(await rulesOn("card", { sides: 2, turn: "short" })).toEqual([]);
  });
});
