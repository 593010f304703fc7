import {
  contourOf,
  lengthOf,
  matrixOf,
  outlinesArea,
  type Path,
  perimeter,
  placeOutlines,
  toMm,
} from "@kitforme/geometry";
import type { Press, Stock, Wording } from "@kitforme/kit";
import type { PreparedPiece, SetPicture, SetText } from "@kitforme/prepress";
import { BLACK, outputProfile } from "@kitforme/prepress/line";
import { codeContent, codeOutlines } from "./code.ts";
import { fieldOf } from "./field.ts";
import { type Furniture, furnitureOf } from "./furniture.ts";
import { imposeBack } from "./impose-back.ts";
import type { SheetSize } from "./marks.ts";
import { alignCut } from "./path/align-cut.ts";
import { toolPaths } from "./path/tool-paths.ts";
import { workOf } from "./path/work-of.ts";
import { sequence } from "./sequence.ts";
import type { SameCuts, SheetCuts } from "./same-cuts.ts";
import type { Placed, Serve, Sheet, SheetLine } from "./sheet.ts";
import { setSlug, type SlugFacts, slugWords } from "./slug.ts";
import { furnishWaste } from "./waste/furnish-waste.ts";

/** One forme with everything that comes onto it. Lengths in micrometres of the sheet. */
export interface ImposedForme {
  readonly sheet: number;
  /** Sheets of the job. */
  readonly of: number;
  readonly run: number;
  readonly width: number;
  readonly height: number;
  /** Number of the sheet whose cut files this one can share; itself when first. */
  readonly cutAs: number;
  /** The first day that something on it is due; left out: no order says. */
  readonly due?: string;
  readonly pieces: readonly {
    readonly prepared: PreparedPiece;
    readonly wording: Wording;
    readonly texts: readonly SetText[];
    readonly pictures?: readonly SetPicture[];
    /** Degrees counter-clockwise, and where the drawing's corner comes to lie. */
    readonly turn: number;
    readonly e: number;
    readonly f: number;
    readonly serves: readonly Serve[];
  }[];
}

/** Millimetres under the blade. */
const cutLengthOf = (lines: readonly SheetLine[]): number =>
  toMm(
    lines
      .filter(({ operation }) => operation === "cutting" || operation === "partialCutting")
      .reduce((sum, { closed, points }) => sum + (closed ? perimeter(points) : lengthOf(points)), 0),
  );

/** Where a trailing blade is brought into line; null for other knives, and where the waste has no room. */
const alignmentOf = (
  stock: Stock,
  size: SheetSize,
  placed: readonly Placed[],
  furniture: Furniture | null,
): Path<"sheet"> | null => {
  const { bladeOffset } = stock.cutter.path;
  if (bladeOffset === 0) return null;
  const boxes = furniture ? [...furniture.zones, furniture.code.zone, furniture.slug] : [];
  const taken = [
    ...placed.map(({ matrix, prepared }) => placeOutlines(matrix, prepared.reach)),
    ...boxes.map((box) => [{ outer: contourOf(box), openings: [] }]),
  ];
  return alignCut(fieldOf(stock, size).coreBounds, taken, bladeOffset);
};

/** The printing condition in a word: its name in the registry, or the shop's own profile by its file. */
const conditionOf = (press: Press): string | undefined => {
  const profile = outputProfile(press);
  return profile?.identifier === "Custom" ? profile.info.split("/").at(-1) : profile?.identifier;
};

/**
 * A forme to a finished sheet. Everything gets its final place here; whoever comes after only translates.
 *
 * @param same sheets of the job before it: one with the same shapes at the same places has the same lines and marks, which are not
 *   worked out again and not kept twice
 * @param lettered `false`: slug and code are not set, for sheets that are only counted and measured
 */
export const impose = async (
  forme: ImposedForme,
  job: string,
  stock: Stock,
  orders: readonly string[],
  same?: SameCuts,
  lettered = true,
): Promise<Sheet> => {
  const { sheet, of, run, width, height, cutAs } = forme;
  const placed = forme.pieces.map(
    ({ prepared, wording, texts, pictures, turn, e, f, serves }, i): Placed => ({
      number: i + 1,
      prepared,
      wording,
      texts,
      ...(pictures && pictures.length > 0 ? { pictures } : {}),
      turn,
      matrix: matrixOf({ degrees: turn, e, f }),
      serves,
    }),
  );
  const code = codeContent(job, sheet);
  const turned = placed.some(({ prepared }) => prepared.piece.back);
  const { press } = stock;
  const condition = press && conditionOf(press);
  const facts: SlugFacts = {
    job,
    sheet,
    of,
    run,
    cutAs,
    ...(turned ? { side: "front" } : {}),
    ...(condition ? { condition } : {}),
    ...(press?.feed ? { feed: press.feed } : {}),
    ...(forme.due === undefined ? {} : { due: forme.due }),
    stockTitle: stock.title,
    orders,
  };
  const size = { width, height };
  const { furniture, furnished, lines, paths, work, cutLength } =
    same?.of(stock, size, placed, () => cutsOf(stock, size, placed)) ?? cutsOf(stock, size, placed);
  const slug = furniture && lettered ? setSlug(facts, furniture.slug) : { words: slugWords(facts), outlines: "" };
  const area = placed.reduce((sum, { prepared }) => sum + outlinesArea(prepared.piece.parts), 0);
  return {
    job,
    sheet,
    of,
    stock,
    width,
    height,
    run,
    code,
    slug: slug.words,
    cutAs,
    marks: furniture?.marks ?? [],
    inks:
      furniture && lettered
        ? [
            ...[codeOutlines(code, furniture.code), slug.outlines].map((outlines) => ({ outlines, ink: BLACK })),
            ...(furnished?.inks ?? []),
          ]
        : [],
    ...(furnished ? { waste: furnished.waste } : {}),
    placed,
    ...(turned && furniture && press
      ? { back: imposeBack(stock, press, size, furniture, { code, facts, furnished }) }
      : {}),
    lines,
    paths,
    work,
    yield: area / (width * height),
    cutLength,
  };
};

const cutsOf = (stock: Stock, size: SheetSize, placed: readonly Placed[]): SheetCuts => {
  const furniture = stock.press ? furnitureOf(stock, stock.press, size) : null;
  const lines = sequence(placed);
  const paths = toolPaths(lines, stock.cutter, alignmentOf(stock, size, placed, furniture));
  const ways = paths.filter((path) => path.placed === 0).map(({ points }) => points);
  const furnished =
    furniture && stock.press && furnishWaste(stock, stock.press, size, { placed, lines, ways, furniture });
  return {
    furniture,
    ...(furnished ? { furnished } : {}),
    lines,
    paths,
    work: workOf(paths, stock.cutter),
    cutLength: cutLengthOf(lines),
  };
};
