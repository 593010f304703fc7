// A shop with one small kit and as many orders as a test wants: a tag with a name on it and an insert that is only cut.
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const TAG =
  '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><rect id="art" width="60" height="40" fill="#2f7f8a"/><path id="cut" d="M0 0H60V40H0Z" fill="none" stroke="#000"/></svg>';
const INSERT =
  '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="30mm" viewBox="0 0 50 30"><path id="cut" d="M0 0H50V30H0Z" fill="none" stroke="#000"/></svg>';

const margins = { top: 5, right: 5, bottom: 8, left: 5 };

export interface SmallShop {
  readonly root: string;
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  /** Writes an order for some named tags and gives its path. */
  order(name: string, texts: readonly string[], more?: object): string;
}

export const smallShop = (root: string): SmallShop => {
  const put = (name: string, content: string | object): string => {
    const file = join(root, name);
    mkdirSync(join(file, ".."), { recursive: true });
    writeFileSync(file, typeof content === "string" ? content : JSON.stringify(content));
    return file;
  };
  put("kits/tag/tag.svg", TAG);
  put("kits/tag/insert.svg", INSERT);
  put("kits/tag/kit.json", {
    kit: "tag",
    title: "Name tag",
    pieces: [
      {
        piece: "tag",
        drawing: "tag.svg",
        stock: "card",
        lines: { cutting: "#cut" },
        artwork: "#art",
        slots: [
          { slot: "name", box: [6, 12, 48, 14], size: 20, leastSize: 8, align: "centre", colour: "#ffffff", safe: 2 },
        ],
      },
      { piece: "insert", drawing: "insert.svg", stock: "board", lines: { cutting: "#cut" }, artwork: null },
    ],
  });
  const shop = put("shop.json", {
    stocks: {
      card: { title: "Card", sheet: [210, 297], press: "digital", cutter: "flatbed" },
      board: { title: "Board", sheet: [210, 297], press: null, cutter: "flatbed" },
    },
    presses: { digital: { margins, resolution: 150, bleed: 3, colour: "cmyk", register: 0.5 } },
    cutters: {
      flatbed: {
        formats: ["svg"],
        tolerance: 1,
        clearance: 1,
        margins,
        marks: { shape: "disc", size: 5, clear: 2 },
        tools: { cutting: { pen: 1 } },
      },
    },
    setup: { sheetChange: 1, newLayout: 1 },
  });
  return {
    root,
    shop,
    kits: join(root, "kits"),
    out: join(root, "out"),
    order: (name, texts, more = {}) =>
      put(`orders/${name}-${texts.join("").length}-${JSON.stringify(more).length}.json`, {
        order: name,
        lines: [{ kit: "tag", quantity: texts.length, texts: texts.map((text) => ({ name: text })), ...more }],
      }),
  };
};
