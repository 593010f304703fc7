import { mm, type Rect } from "@kitforme/geometry";
import type { SlotForm } from "./forms/kit-form.ts";
import type { CodeSlot, PictureSlot, Slot, TextSlot } from "./kit.ts";
import type { Ledger } from "./ledger.ts";
import type { Drawing } from "./svg/drawing.ts";

/** Gives a file that a field names, or reports why there is none. */
export type FileOf = (path: string, field: string) => Promise<Uint8Array | undefined>;

/** A box as written, in micrometres. */
export const rectOf = ([x, y, width, height]: readonly [number, number, number, number]): Rect => {
  const [left, top] = [mm(x), mm(y)];
  return { x: left, y: top, width: mm(x + width) - left, height: mm(y + height) - top };
};

/** Fields that only slots of one kind read. */
const OWN = {
  text: ["font", "fallback", "leastSize", "lines", "leading", "language", "turn", "valign", "outline"],
  picture: ["shape", "fit", "least"],
  code: ["quiet"],
} as const;
const CALLED = { text: "a text", picture: "a picture", code: "a code" } as const;

/** Quiet zones of ISO/IEC 18004 (QR, 4 modules) and ISO/IEC 16022 (Data Matrix, 1 module). */
const QUIET = { qr: 4, datamatrix: 1 } as const;
/** Pixels per inch below which a picture is refused: common practice, no normative source. */
const LEAST = 150;

const kindOf = (form: SlotForm, report: Ledger, field: string): Slot["kind"] => {
  const kinds = [
    ...(form.picture ? ["a picture"] : []),
    ...(form.code === undefined ? [] : ["a code"]),
    ...(form.count === undefined ? [] : ["a number"]),
  ];
  if (kinds.length > 1) report.say("slot-two-kinds", { kinds }, { slot: form.slot, field });
  return form.picture ? "picture" : form.code === undefined ? "text" : "code";
};

const idle = (form: SlotForm, kind: Slot["kind"], report: Ledger, field: string): void => {
  const others = (["text", "picture", "code"] as const).filter((other) => other !== kind);
  const fields = others.flatMap((other) => OWN[other].filter((name) => form[name] !== undefined));
  if (fields.length > 0)
    report.say("slot-field-idle", { slot: form.slot, kind: CALLED[kind], fields }, { slot: form.slot, field });
};

/**
 * A slot as kit.json describes it, its fonts read. Its shape stands in the drawing, which is read after it: the answer makes
 * the slot of it.
 * @param fonts fallbacks of the whole kit
 */
export const readSlot = async (
  form: SlotForm,
  fonts: readonly string[],
  field: string,
  fileOf: FileOf,
  report: Ledger,
  side?: "back",
): Promise<(shapes: Drawing["shapes"]) => Slot> => {
  const kind = kindOf(form, report, field);
  idle(form, kind, report, field);
  const frame = {
    slot: form.slot.normalize("NFC"),
    box: rectOf(form.box),
    safe: mm(form.safe),
    ...(side ? { side } : {}),
    ...(form.required === undefined ? {} : { required: form.required }),
  };
  if (kind === "code") {
    const code = form.code ?? "qr";
    const slot: CodeSlot = { kind, ...frame, code, quiet: form.quiet ?? QUIET[code] };
    return () => slot;
  }
  if (kind === "picture")
    return (shapes): PictureSlot => ({
      kind,
      ...frame,
      shape: form.shape === undefined ? null : shapeOf(form.shape, shapes, report, form.slot),
      fit: form.fit ?? "cover",
      least: form.least ?? LEAST,
    });
  const slot = await textSlot(form, frame, fonts, field, fileOf, report);
  return () => slot;
};

const shapeOf = (selector: string, shapes: Drawing["shapes"], report: Ledger, slot: string): PictureSlot["shape"] => {
  const closed = (shapes.get(selector) ?? []).filter((stroke) => stroke.closed);
  if (closed.length !== 1) report.say("slot-shape", { selector, found: closed.length }, { slot });
  return closed[0]?.points ?? null;
};

const textSlot = async (
  form: SlotForm,
  frame: Pick<TextSlot, "slot" | "box" | "safe" | "required" | "side">,
  fallbacks: readonly string[],
  field: string,
  fileOf: FileOf,
  report: Ledger,
): Promise<TextSlot> => {
  const least = form.leastSize ?? form.size;
  if (least > form.size) report.say("slot-sizes", { size: form.size, leastSize: least }, { slot: form.slot, field });
  const files = [...new Set([...(form.font === undefined ? [] : [form.font]), ...(form.fallback ?? []), ...fallbacks])];
  const fonts: TextSlot["fonts"][number][] = [];
  for (const file of files) {
    const bytes = await fileOf(file, `${field}.font`);
    if (bytes) fonts.push({ file, bytes });
  }
  const { valign, lines, leading, language, turn, outline, count } = form;
  return {
    kind: "text",
    ...frame,
    fonts,
    ...(form.font === undefined && fonts.length > 0 ? { bundledFirst: true } : {}),
    size: form.size,
    leastSize: least,
    align: form.align,
    colour: form.colour,
    ...(valign === undefined ? {} : { valign }),
    ...(lines === undefined ? {} : { lines }),
    ...(leading === undefined ? {} : { leading }),
    ...(language === undefined ? {} : { language }),
    ...(turn === undefined ? {} : { turn }),
    ...(outline === undefined ? {} : { outline: { colour: outline.colour, width: mm(outline.width) } }),
    ...(count === undefined ? {} : { count }),
  };
};
