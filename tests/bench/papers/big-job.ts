import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Job } from "@kitforme/files";
import { matrixOf, mm } from "@kitforme/geometry";
import { type Kit, type Order, type Piece, readKit, type TextSlot } from "@kitforme/kit";
import { BLACK, type PreparedPiece, type SetText, setText } from "@kitforme/prepress";
import type { Placed, Sheet } from "@kitforme/sheet";
import { jobOf } from "../../support/jobs.ts";
import { numbersFrom } from "../../support/random.ts";
import { sheetOf, stock } from "../../support/sheets.ts";

const KITS = fileURLToPath(new URL("../../../fixtures/demo/kits", import.meta.url));
/** A grid of places on a sheet, far enough apart for the demo's largest piece: papers do not ask how full a sheet is. */
const [ACROSS, DOWN] = [3, 3];
/** Names in four scripts: letters that our font has and letters that are drawn. */
const NAMES =
  "Solveig, Aino, Sæbjørg, Żeglarz, Île d’Yeu, Wilhelmine, Þorgerður, Ørnen af Ærø, Περσεφόνη, Надежда, Чайка, نجمة البحر, כוכב ים, Ελπίδα".split(
    ", ",
  );

const kitAt = async (folder: string): Promise<Kit> => {
  const root = join(KITS, folder);
  const read = (path: string): Promise<Uint8Array> => readFile(join(root, path));
  const { value } = await readKit({ folder, text: await readFile(join(root, "kit.json"), "utf8"), read });
  if (!value) throw new Error(`the demo's kit ${folder} cannot be read`);
  return value;
};

/** A piece as papers see it: its shapes, no picture. */
const plainly = (piece: Piece): PreparedPiece => ({
  piece: { ...piece, artwork: null },
  reach: piece.parts,
  layers: [],
  bleed: null,
});

/**
 * A finished job of so many orders for the demo's kits, by hand: an order is one to three kits with names of their own, every
 * sheet has a cut geometry of its own (the most pages a docket can have) and is run once.
 */
export const bigJob = async (count: number, seed: number): Promise<Job> => {
  const random = numbersFrom(seed);
  const upTo = (most: number): number => Math.floor(random() * most);
  const kits = await Promise.all(["harbour-lantern", "pilot-boat", "keepsake"].map(kitAt));
  const known = new Map<string, SetText>();
  const setOn = async (piece: Piece, name: string): Promise<SetText[]> => {
    const texts: SetText[] = [];
    for (const slot of piece.slots) {
      const key = `${piece.kit}/${piece.piece} ${slot.slot} ${name}`;
      const set = known.get(key) ?? (await setText(slot as TextSlot, name, piece, BLACK)).value;
      if (!set) throw new Error(`${name} does not fit on ${piece.kit}/${piece.piece}`);
      known.set(key, set);
      texts.push(set);
    }
    return texts;
  };
  const prepared = new Map(kits.flatMap(({ pieces }) => pieces.map((piece) => [piece, plainly(piece)] as const)));
  const orders: Order[] = [];
  const wanted = new Map<string, Omit<Placed, "number" | "matrix">[]>();
  for (let i = 0; i < count; i++) {
    const order = `HM-${String(10_001 + i)}`;
    const lines = [];
    for (let k = upTo(3); k >= 0; k--) {
      const kit = kits[(i + k) % kits.length] as Kit;
      const name = NAMES[upTo(NAMES.length)] as string;
      lines.push({ kit: kit.kit, quantity: 1, texts: [{ boat: name }] });
      for (const piece of kit.pieces) {
        const texts = await setOn(piece, name);
        for (let first = 1; first <= piece.perKit; first++) {
          const one = {
            prepared: prepared.get(piece) as PreparedPiece,
            wording: Object.fromEntries(texts.map(({ slot, text }) => [slot, text])),
            texts,
            turn: 90 * upTo(4),
            serves: [{ order, first, last: first }],
          };
          wanted.set(piece.stock, [...(wanted.get(piece.stock) ?? []), one]);
        }
      }
    }
    const to = ["Solveig Ånesen", `Havnegata ${i + 1}`, "7010 Trondheim"];
    orders.push({ order, due: `2026-12-${String(1 + upTo(24)).padStart(2, "0")}`, to, lines });
  }
  const pages = [...wanted].flatMap(([name, all]) =>
    Array.from({ length: Math.ceil(all.length / (ACROSS * DOWN)) }, (_, i) => ({
      name,
      own: all.slice(i * ACROSS * DOWN, (i + 1) * ACROSS * DOWN),
    })),
  );
  const sheets = pages.map(({ name, own }, i): Sheet => {
    const pieces = own.map((one, k): Placed => {
      const [e, f] = [mm(60 + (k % ACROSS) * 90), mm(80 + Math.floor(k / ACROSS) * 130)];
      return { ...one, number: k + 1, matrix: matrixOf({ degrees: one.turn, e, f }) };
    });
    const sheet = i + 1;
    const code = `2f81c0de-${sheet}-${pages.length}`;
    return sheetOf(pieces, {
      stock: { ...stock(name === "greyboard" ? null : undefined), stock: name },
      sheet,
      of: pages.length,
      cutAs: sheet,
      run: 1,
      code,
      inks: [],
    });
  });
  const titles = Object.fromEntries(kits.map(({ kit, title }) => [kit, title]));
  const joins = Object.fromEntries(kits.flatMap(({ kit, joins: own }) => (own ? [[kit, own]] : [])));
  return jobOf(sheets, { orders, titles, joins });
};
