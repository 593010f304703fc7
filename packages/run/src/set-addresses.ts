import { mm } from "@kitforme/geometry";
import { type Finding, hasErrors, type Kit, type Order, type Piece, type Shop, type TextSlot } from "@kitforme/kit";
import { encodedIn, lettersMissing, type SetText } from "@kitforme/prepress";
import { BLACK } from "@kitforme/prepress/line";
import { say } from "./words.ts";
import type { Work } from "./watch.ts";

/** Lines of addresses as outlines, by order and number of the line from 0: those whose letters the papers' own font lacks. */
export type SetAddresses = ReadonlyMap<string, ReadonlyMap<number, SetText>>;

/** Room of a line on a slip, micrometres, and its type sizes in points. */
const LINE = { width: mm(150), height: mm(12), size: 11, leastSize: 7 } as const;

/**
 * Sets address lines that the papers' own font cannot: in the shop's fonts, else in those of the kits that the order wants, opened
 * where strangers' files are. A parcel must not go out with blanks for a name: what no font has is a warning.
 */
export const setAddresses = async (
  orders: readonly Order[],
  kits: ReadonlyMap<string, Kit>,
  { fonts: shops = [] }: Shop,
  work: Work,
): Promise<{ readonly addresses: SetAddresses; readonly findings: readonly Finding[] }> => {
  const addresses = new Map<string, ReadonlyMap<number, SetText>>();
  const findings: Finding[] = [];
  for (const { order, to = [], lines } of orders) {
    for (const line of to) {
      const encoded = encodedIn(line);
      if (encoded) findings.push(say("address-encoded", { order, field: "to" }, { line, ...encoded }));
    }
    const lacking = new Map(
      to.flatMap((line, i) => {
        const letters = lettersMissing(line);
        return letters.length > 0 ? [[i, letters] as const] : [];
      }),
    );
    if (lacking.size === 0) continue;
    const named = lines.flatMap(({ kit }) => kits.get(kit)?.pieces ?? []);
    const fonts = new Map(shops.map((font) => [font.file, font]));
    for (const { kit, slots } of named)
      for (const slot of slots)
        if (slot.kind === "text") for (const font of slot.fonts) fonts.set(`${kit}/${font.file}`, font);
    const set = new Map<number, SetText>();
    // One font at a time and the bundled one behind it: a kit's font that is damaged or closed must not stand in the way of the next.
    for (const font of fonts.values()) {
      const open = [...lacking.keys()].filter((i) => !set.has(i));
      if (open.length === 0) break;
      const wanted = open.map((i) => ({ slot: 0, text: to[i] as string, inks: { ink: BLACK } }));
      const answers = await work.openers.setTexts(slip([font]), wanted, work.signal);
      for (const [k, { value, findings: met }] of answers.entries())
        if (value && !hasErrors(met)) set.set(open[k] as number, value);
    }
    if (set.size > 0) addresses.set(order, set);
    const letters = [...lacking].flatMap(([i, missing]) => (set.has(i) ? [] : missing));
    if (letters.length > 0)
      findings.push(say("address-letters", { order, field: "to" }, { letters: [...new Set(letters)].slice(0, 8) }));
  }
  return { addresses, findings };
};

/** A slip's line as a piece with one text on it: texts are set on pieces. */
const slip = (fonts: TextSlot["fonts"]): Piece => {
  const { width, height, size, leastSize } = LINE;
  const at = (x: number, y: number): { readonly x: number; readonly y: number } => ({ x, y });
  const outer = [at(0, 0), at(width, 0), at(width, height), at(0, height)];
  return {
    kit: "slip",
    piece: "address",
    stock: "paper",
    perKit: 1,
    size: { width, height },
    parts: [{ outer, openings: [] }],
    lines: [],
    artwork: null,
    turns: [0],
    spread: "nearest",
    slots: [
      {
        kind: "text",
        slot: "line",
        box: { x: 0, y: 0, width, height },
        safe: 0,
        fonts,
        size,
        leastSize,
        align: "left",
        colour: [0, 0, 0, 100],
      },
    ],
  };
};
