// One piece of a kit: its drawing, its lines and outlines, its artwork, its slots, and every check of them.
import { mm, outlinesBounds, type Rect, toMm, unionOf, inset } from "@kitforme/geometry";
import { formatOf, kindOf } from "./artwork-format.ts";
import { PIECE_CHECKS } from "./checks/index.ts";
import { contoursOf } from "./contours.ts";
import type { PieceForm } from "./forms/kit-form.ts";
import { fileOf, type ReadFile } from "./file-of.ts";
import { badPath } from "./guard.ts";
import { type Artwork, type DrawingParts, OPERATIONS, type PrintedStroke, type Piece, type Slot } from "./kit.ts";
import { type Ledger, ledger } from "./ledger.ts";
import type { OpenPiece } from "./piece-request.ts";
import { rectOf, readSlot } from "./read-slot.ts";
import { drawingText } from "./read-drawing-text.ts";
import { type Drawing, type DrawnArtwork, readDrawing } from "./svg/drawing.ts";
import { DEEPEST_NESTING, filesNamedIn, type NamedFile, type NamedFiles } from "./svg/pictures.ts";

/** How far around the outlines the artwork is shown when the kit does not tell the bleed: more than presses ask for. */
const AROUND = mm(10);

type ArtworkForm = Exclude<PieceForm["artwork"], string | null | undefined>;

/**
 * Pictures that a drawing names beside itself, by the name as written. Only what stays inside the kit's folder is asked for;
 * the rest is left out, and refused with the element that names it.
 */
const picturesOf = async (drawing: string, text: string, read: ReadFile, depth = 0): Promise<NamedFiles> => {
  const folder = drawing.includes("/") ? drawing.slice(0, drawing.lastIndexOf("/") + 1) : "";
  const files = new Map<string, NamedFile>();
  for (const name of filesNamedIn(text)) {
    const path = folder + unescaped(name).replace(/^(\.\/)+/, "");
    const bytes = badPath(path) ? undefined : await read(path);
    if (!bytes) continue;
    const nested = depth < DEEPEST_NESTING && formatOf(bytes) === "svg";
    const inner = nested ? await picturesOf(path, new TextDecoder().decode(bytes), read, depth + 1) : new Map();
    files.set(xmlText(name), { bytes, files: inner });
  }
  return files;
};

/** An address as a path: `my%20picture.png` is `my picture.png`. */
const unescaped = (name: string): string => {
  try {
    return decodeURIComponent(xmlText(name));
  } catch {
    return xmlText(name);
  }
};
const xmlText = (name: string): string => name.replaceAll("&amp;", "&");

/** The kit's fonts, for text in drawings that is still set in type. Missing files are reported where a slot names them. */
const fontsOf = async (
  drawing: DrawnArtwork,
  fonts: readonly string[],
  read: ReadFile,
  report: Ledger,
): Promise<Pick<DrawingParts, "fonts">> => {
  if (drawing.texts.length === 0 || fonts.length === 0) return {};
  const found: { file: string; bytes: Uint8Array }[] = [];
  for (const [i, file] of fonts.entries()) {
    const bytes = await fileOf(file, `fonts[${i}]`, read, report);
    if (bytes) found.push({ file, bytes });
  }
  return { fonts: found };
};

const partsOf = async (
  drawing: DrawnArtwork,
  fonts: readonly string[],
  read: ReadFile,
  report: Ledger,
): Promise<DrawingParts> => ({
  ...(await fontsOf(drawing, fonts, read, report)),
  ...(drawing.pictures.length > 0 ? { pictures: drawing.pictures } : {}),
  ...(drawing.texts.length > 0 ? { texts: drawing.texts } : {}),
});

/** Artwork, and the thin strokes that it prints, where they run on the piece. */
interface ArtworkRead {
  readonly artwork: Artwork | null;
  readonly strokes: readonly PrintedStroke[];
}

const NOTHING: ArtworkRead = { artwork: null, strokes: [] };

/** An artwork file. An SVG is read like a drawing, so that what reaches the printer is as harmless and as plain. */
const artworkFile = async (
  { file, box, page, from }: ArtworkForm,
  field: string,
  fonts: readonly string[],
  read: ReadFile,
  report: Ledger,
): Promise<ArtworkRead> => {
  const bytes = await fileOf(file, `${field}.artwork.file`, read, report, () =>
    report.say("artwork-missing", { file }, { field: `${field}.artwork.file`, file }),
  );
  if (!bytes) return NOTHING;
  const format = formatOf(bytes);
  if (!format) {
    report.say("artwork-unknown", { file, kind: kindOf(bytes) }, { field: `${field}.artwork.file`, file });
    return NOTHING;
  }
  const rect = rectOf(box);
  if (format !== "svg") {
    const asked = { ...(page === undefined ? {} : { page }), ...(from === undefined ? {} : { from }) };
    return { artwork: { kind: "file", format, bytes, box: rect, file, ...asked }, strokes: [] };
  }
  const text = drawingText(bytes, report);
  if (text === undefined) return NOTHING;
  const files = await picturesOf(file, text, read);
  const drawing = readDrawing(
    { text, lines: {}, artwork: undefined, size: undefined, sizeless: [box[2], box[3]], files },
    report,
  );
  if (!drawing) return NOTHING;
  const svg = drawing.artwork?.({ x: 0, y: 0, width: drawing.width, height: drawing.height });
  if (svg === undefined) {
    report.say("artwork-empty", { selector: file }, { file });
    return NOTHING;
  }
  const parts = await partsOf(drawing, fonts, read, report);
  // Pictures were measured in the drawing; the box is where it goes.
  const [sx, sy] = [rect.width / drawing.width, rect.height / drawing.height];
  const placed = (at: readonly [number, number]) => [rect.x / 1000 + at[0] * sx, rect.y / 1000 + at[1] * sy] as const;
  const texts = parts.texts?.map((text) => ({ ...text, at: text.at && placed(text.at) }));
  const pictures = parts.pictures?.map((p) => ({
    ...p,
    at: placed(p.at),
    size: [Math.round(p.size[0] * sx), Math.round(p.size[1] * sy)] as const,
  }));
  const strokes = drawing.drawnAs.strokes.map((stroke) => ({
    ...stroke,
    width: stroke.width * Math.sqrt(sx * sy),
    points: stroke.points.map(({ x, y }) => ({ x: Math.round(rect.x + x * sx), y: Math.round(rect.y + y * sy) })),
  }));
  const artwork: Artwork = {
    kind: "file",
    format,
    bytes: new TextEncoder().encode(svg),
    box: rect,
    file,
    ...parts,
    ...(pictures ? { pictures } : {}),
    ...(texts ? { texts } : {}),
  };
  return { artwork, strokes };
};

/** The drawing, and as much around it as the outlines with their bleed may need of what was drawn beyond its edge. */
const shownBox = (drawing: Drawing, piece: Pick<Piece, "parts">, bleed: number | undefined): Rect => {
  const whole: Rect = { x: 0, y: 0, width: drawing.width, height: drawing.height };
  if (piece.parts.length === 0) return whole;
  return unionOf(whole, inset(outlinesBounds(piece.parts), -(bleed === undefined ? AROUND : mm(bleed))));
};

const artworkOf = async (
  form: PieceForm,
  field: string,
  drawing: Drawing,
  parts: Piece["parts"],
  fonts: readonly string[],
  read: ReadFile,
  report: Ledger,
): Promise<ArtworkRead> => {
  if (form.artwork === null) return NOTHING;
  if (typeof form.artwork === "object") return artworkFile(form.artwork, field, fonts, read, report);
  if (!drawing.artwork) return NOTHING;
  const box = shownBox(drawing, { parts }, form.bleed);
  const more = await partsOf(drawing, fonts, read, report);
  const artwork: Artwork = { kind: "drawing", svg: drawing.artwork(box), box, file: form.drawing, ...more };
  return { artwork, strokes: drawing.drawnAs.strokes };
};

/** What the reverse prints, mirrored already where it is drawn as its reader sees it. */
const backOf = async (
  { drawing: file, bleed, back }: PieceForm,
  field: string,
  drawing: Drawing,
  parts: Piece["parts"],
  fonts: readonly string[],
  read: ReadFile,
  report: Ledger,
): Promise<Piece["back"]> => {
  if (!back) return undefined;
  const { x, width } = parts.length > 0 ? outlinesBounds(parts) : { x: 0, width: drawing.width };
  const mirror = back.seen === "back" ? 2 * x + width : undefined;
  const made = (artwork: Artwork | null): Piece["back"] => ({
    artwork,
    ...(mirror === undefined ? {} : { mirror }),
  });
  if (typeof back.artwork === "object" && back.artwork) {
    const [left, top, wide, high] = back.artwork.box;
    // The box is named as it lies behind the front; the picture in it is turned over with its reader's space.
    const box = mirror === undefined ? back.artwork.box : ([toMm(mirror) - left - wide, top, wide, high] as const);
    const { artwork } = await artworkFile({ ...back.artwork, box: [...box] }, `${field}.back`, fonts, read, report);
    return made(artwork?.kind === "file" ? { ...artwork, behind: back.seen } : artwork);
  }
  if (!drawing.back?.artwork) return made(null);
  const box = shownBox(drawing, { parts }, bleed);
  const more = await partsOf(drawing.back, fonts, read, report);
  return made({ kind: "drawing", svg: drawing.back.artwork(box), box, file, ...more });
};

/** Live writing on the reverse that its reader will see mirrored: once for each text. */
const tellMirrored = ({ artwork, mirror }: NonNullable<Piece["back"]>, report: Ledger): void => {
  const seen = mirror === undefined ? "front" : "back";
  for (const { at, mirrored = false } of artwork?.texts ?? [])
    if (mirrored === (mirror !== undefined)) {
      const [x, y] = at ?? [];
      const place =
        x === undefined || y === undefined ? {} : { at: [mirror === undefined ? x : toMm(mirror) - x, y] as const };
      report.say(
        "back-text-mirrored",
        { seen },
        { side: "back", ...(artwork ? { file: artwork.file } : {}), ...place },
      );
    }
};

/**
 * Reads one piece and asks it every question of `PIECE_CHECKS`. Findings go to the ledger; the piece comes back even when there are
 * errors among them, as far as it could be made, and undefined when there is no drawing.
 * @param field where the piece stands in kit.json
 */
export const readPiece = async (
  form: PieceForm,
  kit: { readonly name: string; readonly fonts: readonly string[] },
  field: string,
  read: ReadFile,
  report: Ledger,
): Promise<Piece | undefined> => {
  for (const operation of Object.keys(form.lines))
    if (!(OPERATIONS as readonly string[]).includes(operation))
      report.say("operation-unknown", { operation }, { field: `${field}.lines` });
  const slots: ((shapes: Drawing["shapes"]) => Slot)[] = [];
  for (const [i, slot] of form.slots.entries())
    slots.push(
      await readSlot(slot, kit.fonts, `${field}.slots[${i}]`, (path, at) => fileOf(path, at, read, report), report),
    );
  for (const [i, slot] of (form.back?.slots ?? []).entries())
    slots.push(
      await readSlot(
        slot,
        kit.fonts,
        `${field}.back.slots[${i}]`,
        (path, at) => fileOf(path, at, read, report),
        report,
        "back",
      ),
    );
  const bytes = await fileOf(form.drawing, `${field}.drawing`, read, report);
  const text = bytes && drawingText(bytes, report);
  if (text === undefined) {
    if (typeof form.artwork === "object" && form.artwork)
      await artworkFile(form.artwork, field, kit.fonts, read, report);
    return undefined;
  }
  const lines = Object.fromEntries(
    OPERATIONS.flatMap((o) => (form.lines[o] === undefined ? [] : [[o, form.lines[o]]])),
  );
  const wanted = typeof form.artwork === "object" ? null : form.artwork;
  const files = await picturesOf(form.drawing, text, read);
  const behind = form.back?.artwork;
  const request = {
    text,
    lines,
    artwork: wanted,
    size: form.size,
    scale: form.scale,
    files,
    shapes: shapesOf(form),
    ...(typeof behind === "string" ? { back: behind } : {}),
  };
  const drawing = readDrawing(request, report);
  if (!drawing) return undefined;
  const contours = contoursOf(drawing.strokes, report);
  const { artwork, strokes } = await artworkOf(form, field, drawing, contours.parts, kit.fonts, read, report);
  const back = await backOf(form, field, drawing, contours.parts, kit.fonts, read, report);
  if (back) tellMirrored(back, report);
  const piece: Piece = {
    kit: kit.name,
    piece: form.piece.normalize("NFC"),
    perKit: form.perKit,
    stock: form.stock,
    size: { width: drawing.width, height: drawing.height },
    parts: contours.parts,
    lines: contours.lines,
    artwork,
    ...(form.bleed === undefined ? {} : { bleed: mm(form.bleed) }),
    gap: mm(form.gap),
    ...(form.grain === undefined ? {} : { grain: form.grain }),
    turns: turnsOf(form.turns),
    spread: form.spread,
    slots: slots.map((slot) => slot(drawing.shapes)),
    ...(back ? { back } : {}),
    drawnAs: { ...drawing.drawnAs, strokes },
  };
  for (const check of PIECE_CHECKS) check(piece, report);
  // The strokes have been judged, and there may be thousands of them: nobody carries them on.
  return { ...piece, drawnAs: { ...drawing.drawnAs, strokes: [] } };
};

/** Selectors of the shapes that pictures are clipped to. */
const shapesOf = ({ slots, back }: PieceForm): string[] =>
  [...slots, ...(back?.slots ?? [])].flatMap(({ picture, shape }) => (picture && shape !== undefined ? [shape] : []));

/** Turns within a full turn, each once, in rising order. */
const turnsOf = (turns: PieceForm["turns"]): Piece["turns"] =>
  turns === "any"
    ? "any"
    : [...new Set((turns ?? [0, 90, 180, 270]).map((t) => (((t % 360) + 360) % 360) + 0))].sort((a, b) => a - b);

/** Opens one piece here. */
export const openPiece: OpenPiece = async ({ form, kit, field }, read) => {
  const report = ledger({ kit: kit.name, piece: form.piece.normalize("NFC") });
  const piece = await readPiece(form, kit, field, read, report);
  return { ...(piece ? { piece } : {}), findings: report.findings() };
};
