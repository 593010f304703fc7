// What a page is made of: every content stream it reaches (forms, tiling patterns, letters of Type 3 fonts, soft masks), the
// colour spaces, fonts and transparency in them. Longer than a page: each kind of object has its few lines here, in one state.
import {
  PDFArray,
  type PDFContext,
  PDFDict,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFRef,
  PDFStream,
} from "../../pdf-lib.ts";
import type { Anatomy, Scope } from "./anatomy.ts";
import { componentsOf } from "./components-of.ts";
import { inlineSpaceOf, type Operation, operationsOf } from "./content.ts";
import { isHidden } from "./hidden.ts";
import { takeHiddenOut } from "./take-hidden-out.ts";
import { unpack } from "./unpack.ts";

const name = (key: string): PDFName => PDFName.of(key);
const isName = (object: PDFObject | undefined, ...keys: readonly string[]): boolean =>
  object instanceof PDFName && keys.some((key) => object === name(key));

const FAMILY: Readonly<Record<string, "rgb" | "cmyk" | "grey">> = {
  "/DeviceRGB": "rgb",
  "/RGB": "rgb",
  "/DeviceCMYK": "cmyk",
  "/CMYK": "cmyk",
  "/DeviceGray": "grey",
  "/G": "grey",
};
const BY_OPERATOR: Readonly<Record<string, "rgb" | "cmyk" | "grey">> = {
  rg: "rgb",
  RG: "rgb",
  k: "cmyk",
  K: "cmyk",
  g: "grey",
  G: "grey",
};

/** Takes a page apart, within one context. */
export class Walk implements Anatomy {
  readonly scopes: Scope[] = [];
  readonly obstacles = new Set<string>();
  readonly faults = new Set<string>();
  readonly fontsMissing = new Set<string>();
  readonly spots = new Set<string>();
  readonly devices = new Set<"rgb" | "cmyk" | "grey">();
  readonly profiled = new Set<"rgb" | "cmyk">();
  readonly greys = new Set<PDFArray>();
  readonly groups: { dict: PDFDict; rgb: boolean }[] = [];
  mixed = false;
  transparent = false;
  blends = false;
  masksShare = false;
  /** Some soft mask is drawn by a group. */
  masked = false;
  inlinePictures = false;
  readonly slots: { owner: PDFDict; key: PDFName }[] = [];
  readonly context: PDFContext;
  private readonly seen = new Set<PDFObject>();
  private readonly masks: {
    readonly form: PDFObject;
    readonly resources: PDFDict;
    readonly ref: PDFRef | undefined;
  }[] = [];
  /** What is reached from soft masks is drawn as it is: its lightness is what counts. */
  private masking = false;

  constructor(context: PDFContext) {
    this.context = context;
  }

  /** A page: its content, all that its resources lead to, and then the soft masks, which are drawn apart. */
  page(resources: PDFDict, content: Uint8Array): void {
    this.scope(resources, content);
    this.masking = true;
    for (let mask = this.masks.pop(); mask; mask = this.masks.pop()) {
      if (this.seen.has(mask.form)) this.masksShare = true;
      this.content(mask.form, mask.resources, mask.ref);
    }
  }

  /** One content stream and all that its resources lead to. */
  private scope(resources: PDFDict, stored: Uint8Array, ref?: PDFRef, begins = ref === undefined): void {
    let operations = operationsOf(stored);
    if (!operations) {
      this.faults.add("its content cannot be read to the end");
      return;
    }
    const content = takeHiddenOut(stored, operations, resources);
    const changed = Buffer.compare(content, stored) !== 0;
    if (changed) operations = operationsOf(content) ?? [];
    if (!this.masking) this.scopes.push({ resources, content, changed, operations, begins, ...(ref ? { ref } : {}) });
    for (const operation of operations) this.operation(operation);
    this.letters(resources, operations);
    this.names(resources, operations);
    if (!this.first(resources)) return;
    const spaces = resources.lookupMaybe(name("ColorSpace"), PDFDict);
    for (const [key] of spaces?.entries() ?? []) this.spaceAt(spaces as PDFDict, key);
    this.each(resources, "XObject", (object, at) => this.xobject(object, resources, at));
    this.each(resources, "Pattern", (object, at) => this.pattern(object, resources, at));
    this.each(resources, "Shading", (object) => this.shading(object));
    this.each(resources, "Font", (object) => this.font(object, resources));
    this.each(resources, "ExtGState", (object) => this.state(object, resources));
    this.layers(resources);
  }

  /** Fonts that letters are really set in; those that are only declared, or set nothing but invisible letters, do not matter. */
  private letters(resources: PDFDict, operations: readonly Operation[]): void {
    const fonts = resources.lookupMaybe(name("Font"), PDFDict);
    let now: { font: PDFObject | undefined; mode: number } = { font: undefined, mode: 0 };
    const saved: (typeof now)[] = [];
    for (const { operator, operands } of operations) {
      if (operator === "q") saved.push({ ...now });
      else if (operator === "Q") now = saved.pop() ?? now;
      else if (operator === "Tr") now.mode = Number(operands[0]) || 0;
      else if (operator === "Tf") now.font = fonts?.lookup(name(String(operands[0]).slice(1)));
      else if (now.mode % 4 !== 3 && now.font && ["Tj", "TJ", "'", '"'].includes(operator)) this.fontUsed(now.font);
    }
  }

  private fontUsed(font: PDFObject): void {
    if (!(font instanceof PDFDict) || isName(font.lookup(name("Subtype")), "Type3")) return;
    const descendant = font.lookupMaybe(name("DescendantFonts"), PDFArray)?.lookupMaybe(0, PDFDict) ?? font;
    const descriptor = descendant.lookupMaybe(name("FontDescriptor"), PDFDict);
    if (!["FontFile", "FontFile2", "FontFile3"].some((key) => descriptor?.has(name(key))))
      this.fontsMissing.add(font.lookup(name("BaseFont"))?.toString().slice(1) ?? "unnamed");
  }

  /** Spot inks that are chosen, and things that are named and not there. */
  private names(resources: PDFDict, operations: readonly Operation[]): void {
    const find = (kind: string, operand: number | string | undefined): PDFObject | undefined =>
      resources.lookupMaybe(name(kind), PDFDict)?.lookup(name(String(operand).slice(1)));
    for (const { operator, operands } of operations) {
      if (operator === "cs" || operator === "CS") this.spotsIn(find("ColorSpace", operands[0]));
      else if (operator === "Do" && !find("XObject", operands[0]))
        this.faults.add(`the picture or form ${String(operands[0])} that it draws is not there`);
      else if (operator === "sh" && !find("Shading", operands[0]))
        this.faults.add(`the shading ${String(operands[0])} that it draws is not there`);
      else if (operator === "gs" && !find("ExtGState", operands[0]))
        this.faults.add(`the graphics state ${String(operands[0])} that it sets is not there`);
    }
  }

  private spotsIn(space: PDFObject | undefined): void {
    if (!(space instanceof PDFArray) || space.size() < 2) return;
    const kind = space.lookup(0);
    if (isName(kind, "Indexed", "Pattern")) return this.spotsIn(space.lookup(1));
    if (isName(kind, "ICCBased", "CalGray", "CalRGB", "Lab")) {
      const count = componentsOf(space) ?? 3;
      if (count === 1) this.greys.add(space);
      else this.profiled.add(count === 4 ? "cmyk" : "rgb");
    }
    const names = space.lookup(1);
    if (isName(kind, "Separation") && names instanceof PDFName) this.spots.add(names.decodeText());
    if (isName(kind, "DeviceN") && names instanceof PDFArray)
      for (const one of names.asArray()) if (one instanceof PDFName) this.spots.add(one.decodeText());
  }

  group(owner: PDFDict): void {
    const dict = owner.lookupMaybe(name("Group"), PDFDict);
    if (!dict || !this.first(dict)) return;
    const space = dict.lookup(name("CS"));
    if (this.masking) return;
    this.groups.push({ dict, rgb: space !== undefined && componentsOf(space) === 3 });
  }

  private first(object: PDFObject): boolean {
    if (this.seen.has(object)) return false;
    this.seen.add(object);
    return true;
  }

  private each(resources: PDFDict, key: string, visit: (object: PDFObject, ref: PDFRef | undefined) => void): void {
    const dict = resources.lookupMaybe(name(key), PDFDict);
    for (const [, value] of dict?.entries() ?? []) {
      const object = this.context.lookup(value);
      if (object) visit(object, value instanceof PDFRef ? value : undefined);
    }
  }

  /** Grey in a soft mask is no ink: programs that paint in RGB alone draw their masks in it. */
  private met(family: "rgb" | "cmyk" | "grey" | undefined): void {
    if (family && !(this.masking && family === "grey")) this.devices.add(family);
  }

  private operation({ operator, operands, inline }: Operation): void {
    const family = BY_OPERATOR[operator];
    this.met(family);
    if (operator === "cs" || operator === "CS") {
      this.met(FAMILY[String(operands[0])]);
      this.mixed = true;
    }
    if (operator === "sh" || operator === "BI") this.mixed = true;
    // A colour space written out in the content stream has no place of its own to be exchanged at.
    if (inline && inlineSpaceOf(inline) === "") this.inlinePictures = true;
    for (const operand of inline ?? []) {
      this.met(FAMILY[String(operand)]);
      if (operand === "/LZW" || operand === "/LZWDecode") this.obstacles.add("LZW packing");
    }
  }

  private spaceAt(owner: PDFDict, key: PDFName): void {
    if (!this.masking) this.slots.push({ owner, key });
    this.space(owner.get(key));
  }

  private space(space: PDFObject | undefined): void {
    const object = this.context.lookup(space);
    if (object instanceof PDFName) {
      this.met(FAMILY[object.toString()]);
      return;
    }
    if (!(object instanceof PDFArray) || object.size() === 0) return;
    const kind = object.lookup(0);
    if (isName(kind, "Indexed", "I", "Pattern")) this.space(object.get(1));
    if (isName(kind, "Separation", "DeviceN")) this.space(object.get(2));
    if (isName(kind, "DeviceRGB", "DeviceCMYK", "DeviceGray")) this.space(kind);
  }

  private stream(object: PDFObject): PDFRawStream | undefined {
    if (!(object instanceof PDFRawStream)) {
      this.faults.add("a stream cannot be read");
      return undefined;
    }
    const { dict } = object;
    const filter = dict.lookup(name("Filter"));
    const filters = filter instanceof PDFArray ? filter.asArray().map((f) => this.context.lookup(f)) : [filter];
    if (filters.some((f) => isName(f, "LZWDecode", "LZW"))) this.obstacles.add("LZW packing");
    if (dict.has(name("F"))) this.obstacles.add("a stream in another file");
    return object;
  }

  private content(object: PDFObject, resources: PDFDict, ref: PDFRef | undefined, begins = false): void {
    const stream = this.stream(object);
    if (!stream || !this.first(stream)) return;
    this.group(stream.dict);
    const bytes = this.unpacked(stream);
    if (!bytes) return;
    // A stream always has a place of its own (ISO 32000, 7.3.8.1); one without cannot be written anew.
    if (!ref) this.obstacles.add("a stream without a place");
    else this.scope(stream.dict.lookupMaybe(name("Resources"), PDFDict) ?? resources, bytes, ref, begins);
  }

  /** A stream's bytes; undefined, with an obstacle, when they cannot be had. */
  unpacked(stream: PDFRawStream): Uint8Array | undefined {
    try {
      return unpack(stream);
    } catch {
      this.faults.add("a stream of its content cannot be unpacked");
      return undefined;
    }
  }

  private xobject(object: PDFObject, resources: PDFDict, ref: PDFRef | undefined): void {
    if (!(object instanceof PDFStream)) return;
    const { dict } = object;
    // What a hidden layer holds is drawn by nothing any more.
    if (isHidden(dict.lookup(name("OC")))) return;
    dict.delete(name("OC"));
    if (dict.has(name("OPI"))) this.obstacles.add("OPI");
    if (isName(dict.lookup(name("Subtype")), "Image")) return this.image(object);
    if (dict.has(name("Ref")) || dict.has(name("PS")) || !isName(dict.lookup(name("Subtype")), "Form"))
      this.obstacles.add("an object that is neither form nor picture");
    else this.content(object, resources, ref);
  }

  private image(object: PDFStream): void {
    const { dict } = object;
    const masked = dict.lookup(name("SMask"));
    if (!this.stream(object) || !this.first(object)) return;
    const stencil = dict.lookup(name("ImageMask"))?.toString() === "true";
    if (!stencil) this.mixed = true;
    if (!stencil && !dict.has(name("ColorSpace"))) this.obstacles.add("a picture that does not tell its colour space");
    if (!stencil && dict.has(name("ColorSpace"))) this.spaceAt(dict, name("ColorSpace"));
    dict.delete(name("Alternates"));
    if (!stencil) this.spotsIn(dict.lookup(name("ColorSpace")));
    if (masked instanceof PDFStream) {
      this.transparent = true;
      this.stream(masked);
    }
  }

  private pattern(object: PDFObject, resources: PDFDict, ref: PDFRef | undefined): void {
    this.mixed = true;
    if (object instanceof PDFStream) this.content(object, resources, ref, true);
    else if (object instanceof PDFDict) this.shading(object.lookup(name("Shading")));
  }

  private shading(object: PDFObject | undefined): void {
    this.mixed = true;
    const dict = object instanceof PDFStream ? object.dict : object;
    if (!(dict instanceof PDFDict) || !this.first(dict)) return;
    this.spaceAt(dict, name("ColorSpace"));
    this.spotsIn(dict.lookup(name("ColorSpace")));
  }

  private font(object: PDFObject, resources: PDFDict): void {
    if (!(object instanceof PDFDict) || !this.first(object)) return;
    if (isName(object.lookup(name("Subtype")), "Type3")) {
      const own = object.lookupMaybe(name("Resources"), PDFDict) ?? resources;
      for (const [, value] of object.lookupMaybe(name("CharProcs"), PDFDict)?.entries() ?? []) {
        const glyph = this.context.lookup(value);
        if (glyph) this.content(glyph, own, value instanceof PDFRef ? value : undefined);
      }
      return;
    }
  }

  private state(object: PDFObject, resources: PDFDict): void {
    if (!(object instanceof PDFDict) || !this.first(object)) return;
    for (const key of ["ca", "CA"]) {
      const alpha = object.lookup(name(key));
      if (alpha instanceof PDFNumber && alpha.asNumber() < 1) this.transparent = true;
    }
    for (const key of ["TR", "TR2"]) {
      const transfer = object.lookup(name(key));
      if (transfer && !isName(transfer, "Identity", "Default")) this.obstacles.add("a transfer function");
    }
    object.delete(name("HTP"));
    const mode = object.lookup(name("BM"));
    const modes = mode instanceof PDFArray ? mode.asArray() : mode ? [mode] : [];
    if (modes.some((m) => !isName(m, "Normal", "Compatible"))) this.blends = true;
    const mask = object.lookup(name("SMask"));
    if (mask instanceof PDFDict) {
      this.blends = true;
      this.masked = true;
      const drawn = mask.get(name("G"));
      const form = this.context.lookup(drawn);
      if (form) this.masks.push({ form, resources, ref: drawn instanceof PDFRef ? drawn : undefined });
    }
    if (this.blends) this.transparent = true;
  }

  /** What is left of layers shows, and a form has no catalog to say so. */
  private layers(resources: PDFDict): void {
    const properties = resources.lookupMaybe(name("Properties"), PDFDict);
    for (const [key, value] of properties?.entries() ?? []) {
      const object = this.context.lookup(value);
      if (!(object instanceof PDFDict) || !isName(object.lookup(name("Type")), "OCG", "OCMD")) continue;
      properties?.set(key, this.context.obj({}));
    }
  }
}
