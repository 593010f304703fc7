import { type Finding, type Kit, type Piece, readOrders, type Slot } from "@kitforme/kit";
import { type Article, articlesOf } from "../demands-of.ts";
import { type BuyersPictures, readPictures } from "../read-pictures.ts";
import type { Named } from "../world.ts";
import { sayPreview } from "./words.ts";

/** A copy's words on one piece, as far as they are not at fault. */
export interface CopyRead {
  readonly article: Article;
  readonly pictures: BuyersPictures;
  readonly findings: readonly Finding[];
}

type Words = Readonly<Record<string, unknown>>;

const isWords = (copy: unknown): copy is Words =>
  typeof copy === "object" &&
  copy !== null &&
  !Array.isArray(copy) &&
  Object.values(copy).every(
    (said) => typeof said === "string" || (typeof said === "object" && said !== null && "file" in said),
  );

const FILE = "copy";
const ORDER = "preview";

/** An order of one copy, judged as any order is. Nothing must be filled in here where `slots` do not say so. */
const judge = (words: Words, kit: string, slots: readonly Slot[]) => {
  const text = JSON.stringify({ order: ORDER, lines: [{ kit, quantity: 1, texts: [words] }] });
  return { text, ...readOrders([{ file: FILE, text }], { kits: [{ kit, pieces: [{ slots }] }] }) };
};

/**
 * The words of one copy held against a piece's slots, as those of an order are. What is at fault is left out of the article and
 * reported; slots that only other pieces have are passed over.
 * @param read pictures of buyers by their paths
 */
export const readCopy = async (
  copy: unknown,
  piece: Piece,
  all: readonly Piece[],
  read: Named["read"],
): Promise<CopyRead> => {
  const given = isWords(copy) ? copy : {};
  const findings: Finding[] = isWords(copy)
    ? []
    : [
        sayPreview(
          "copy-unreadable",
          { kit: piece.kit, piece: piece.piece },
          { why: "it is no list of texts and pictures by slot" },
        ),
      ];
  const own = new Set(piece.slots.map(({ slot }) => slot));
  const elsewhere = new Set(all.flatMap(({ slots }) => slots.map(({ slot }) => slot)).filter((slot) => !own.has(slot)));
  const words = Object.fromEntries(
    Object.entries(given)
      .map(([slot, said]) => [slot.normalize("NFC"), said] as const)
      .filter(([slot]) => !elsewhere.has(slot)),
  );
  const judged = judge(words, piece.kit, piece.slots);
  // A slot that may stay blank is shown blank: who types has not come to it yet.
  findings.push(...judged.findings.filter((f) => f.rule !== "slot-without-text" || f.level === "error"));
  const faulty = new Set(judged.findings.flatMap((f) => (f.level === "error" && f.where.slot ? [f.where.slot] : [])));
  const sound = Object.fromEntries(Object.entries(words).filter(([slot]) => own.has(slot) && !faulty.has(slot)));
  const freely = piece.slots.map((slot) => ({ ...slot, required: false }));
  const again = judge(sound, piece.kit, freely);
  const order = again.value?.[0] ?? { order: ORDER, lines: [{ kit: piece.kit, quantity: 1, texts: [{}] }] };
  const door = { file: FILE, text: again.text, ...(read ? { read } : {}) };
  const { orders, pictures, findings: unseen } = await readPictures([order], [door]);
  const kits = new Map<string, Kit>([[piece.kit, { kit: piece.kit, title: piece.kit, pieces: [piece] }]]);
  const [article] = articlesOf(orders, kits);
  if (!article) throw new Error(`an order of one copy made no article of ${piece.piece}`);
  return { article, pictures, findings: [...findings, ...unseen].map((finding) => ofCopy(finding, piece)) };
};

/** There is one copy, and no order whose file, line and number would help anybody find it. */
export const ofCopy = (finding: Finding, piece: Piece): Finding => {
  const { order: _order, line: _line, copy: _copy, file, field, ...where } = finding.where;
  const short = (text: string): string => text.replaceAll("lines[0].texts[0].", "");
  return {
    ...finding,
    message: short(finding.message),
    where: {
      ...where,
      kit: piece.kit,
      piece: piece.piece,
      ...(file === undefined || file === FILE ? {} : { file }),
      ...(field === undefined ? {} : { field: short(field) }),
    },
  };
};
